"""The language of rig files: `rig.lark` is the only copy of the grammar."""
