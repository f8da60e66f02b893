"""Takes the resolved rig and its links, reports RC3xx. It returns nothing."""
