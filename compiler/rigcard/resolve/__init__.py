"""Takes statements, returns the rig with every name bound and every value typed (`model`). May report RC2xx."""
