"""Takes the text of rig files, returns their statements as written (`tree`). May report RC1xx."""
