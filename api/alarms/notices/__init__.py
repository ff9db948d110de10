"""Notices: what leaves the house when an alarm sounds, until it has left."""
