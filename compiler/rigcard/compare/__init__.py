"""Compares two revisions of a rig: facts of both sides, and what differs by effect, action, paper and person."""
