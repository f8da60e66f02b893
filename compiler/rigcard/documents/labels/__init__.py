"""Labels for cables, units and cases, and the sheets that they are printed on."""
