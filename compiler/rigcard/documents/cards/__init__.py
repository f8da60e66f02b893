"""One file a kind of card; `pack.py` says which cards a rig gets and in which order."""
