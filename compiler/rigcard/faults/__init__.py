"""Takes the solved rig, returns which single mistakes its function test finds, and what a failed line means."""
