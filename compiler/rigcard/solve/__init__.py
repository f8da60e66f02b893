"""Takes the checked rig and its links, returns every value computed (`solved`). May report RC4xx."""
