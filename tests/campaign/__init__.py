"""Campaigns that stay: damaged meshes, odd folders, kills, lived builds; run by `scripts/campaign.py`."""
