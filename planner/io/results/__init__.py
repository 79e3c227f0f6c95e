"""The results folder: bed files, plan.json read back."""
