"""Formats a rig file: spaces, line ends and columns change, words and comments never do."""
