"""The kit list, the lid sheets of the cases, and the packs to bring."""
