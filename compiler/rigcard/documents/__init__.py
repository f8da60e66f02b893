"""Takes the solved rig, returns documents in which every word and millimetre is decided. May report RC5xx."""
