"""The solved rig for other programs and for the screen: rig.json and `rigcard show`."""
