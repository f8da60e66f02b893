"""Takes documents, returns bytes. Only draws; the only folder that imports reportlab or graphviz."""
