"""Takes the resolved rig and its links, reports RC3xx. Returns nothing: it only judges."""
