"""Campaigns that stay: damaged meshes, odd folders, kills; run by `scripts/campaign.py`."""
