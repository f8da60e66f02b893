"""Takes the solved rig, returns documents with every word and every millimetre decided. May report RC5xx."""
