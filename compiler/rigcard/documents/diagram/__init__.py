"""The wiring: drawings of signals and power, and the same as lists."""
