"""What an SVG file says, as a reader of XML finds it."""

from xml.etree import ElementTree

from rigcard.documents.base.model import Page, Text
from rigcard.render.svg import svg

SPACE = "{http://www.w3.org/2000/svg}"
SIGNS = """A & B <b> "c" 'd' &amp; ]]> é −"""


def test_signs_of_the_markup_are_words() -> None:
    """Title, texts and the name of a typeface come back as they are, whatever signs of XML they hold."""
    root = ElementTree.fromstring(svg(Page(20, 10, (Text(1, 5, SIGNS, 8.0, False, 18),), ()), SIGNS, SIGNS))
    texts = [(part.tag, part.text) for part in root if part.text and part.text.strip()]

    assert texts == [(f"{SPACE}title", SIGNS), (f"{SPACE}text", SIGNS)]
    assert root.get("font-family") == f"{SIGNS}, sans-serif"
