"""Lays a rig file out anew: blanks, line ends and columns change, words and comments never do."""
