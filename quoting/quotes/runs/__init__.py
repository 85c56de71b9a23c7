"""Runs of the shop: read, looked through, recorded, and set against what was estimated."""
