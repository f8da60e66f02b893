"""One file for each kind of card; `card_set.py` says which cards a rig gets and in which order."""
