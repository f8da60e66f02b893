"""The layout of messages. Takes diagnostics, returns text; decides no wording of its own."""
