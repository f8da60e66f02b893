"""Help for editors over the Language Server Protocol. Only the command `language-server` imports it.

It takes the text of open files and places in them, asks the passes, and returns what the protocol wants. It decides no
fault of its own: every message comes from a pass.
"""
