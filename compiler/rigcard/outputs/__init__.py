"""The kinds of papers that `build` writes.

Each is one file, which registers it, checks it and words its codes.
"""
