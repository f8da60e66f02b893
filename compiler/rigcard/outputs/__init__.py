"""The kinds of papers that `build` writes: one file a kind, which registers itself, checks itself and words its own codes."""
