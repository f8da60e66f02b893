"""The claims, one file a topic, found by listing this folder."""
