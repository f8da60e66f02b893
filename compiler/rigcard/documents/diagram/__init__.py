"""The wiring: the drawing and the list of leads."""
