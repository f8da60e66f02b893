"""Takes documents, returns bytes. Only draws; the only folder that imports reportlab or graphviz."""

from rigcard.render import library as library  # before any part of reportlab
