"""Volts, amperes and watt-hours: imported only for a rig that has a source of power or a pack."""
