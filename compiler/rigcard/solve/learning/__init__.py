"""What readings say: which causes explain those that are off, and what a device does that its model leaves open."""
