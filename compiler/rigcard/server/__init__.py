"""Help for editors over the Language Server Protocol. Only the command `language-server` imports it.

It takes the text of open files and positions in them, runs the passes, and returns what the protocol requires.
It finds no faults itself: every message comes from a pass.
"""
