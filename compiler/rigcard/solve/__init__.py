"""Takes the checked rig and its links, returns all computed values (`solved`). May report RC4xx."""
