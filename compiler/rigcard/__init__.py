"""Compiles one description of a remotely controlled camera rig into the papers that people need on the day."""

__version__ = "0.1.0"
