"""The codes of the papers."""

from rigcard.diagnostics import Severity, define

WORDS_TOO_LONG = define(
    "RC501",
    Severity.ERROR,
    "words_too_long",
    """
    Reports: words longer than their place on the papers can hold at a legible size.
    Why: nothing is ever cut off or set smaller in silence, so the words have to be shorter.
    Bad: a title of 200 characters
    Good: a short title, and the rest in a `note`
    """,
)
GLYPH_MISSING = define(
    "RC502",
    Severity.ERROR,
    "glyph_missing",
    """
    Reports: a character that the typeface of the papers does not have.
    Why: it would be printed as an empty box, and a name with a hole is another name.
    Bad: a title in a script other than Latin, Greek or Cyrillic
    Good: the same title in one of those scripts
    """,
)
EMPTY_WORDS = define(
    "RC503",
    Severity.ERROR,
    "empty_words",
    """
    Reports: quotes with nothing between them.
    Why: a heading or a label with no words tells nobody anything.
    Bad: unit hs is handset-12 ""
    Good: unit hs is handset-12 "Head handset"
    """,
)
LABEL_TOO_LARGE = define(
    "RC504",
    Severity.ERROR,
    "label_too_large",
    """
    Reports: a label that does not fit the cells of the sheet that the rig names.
    Why: print across a die cut is lost, and smaller print would not be read.
    Bad: labels on a4-3x8-70x37, and a flag of 80 mm for a thick cable with a long name
    Good: labels on a sheet with larger cells, or no `labels on`: film that is cut by hand
    """,
)
NO_CELL = define(
    "RC505",
    Severity.ERROR,
    "no_such_cell",
    """
    Reports: `--start` or `--skip` with a cell that the sheet does not have, or without a sheet.
    Why: a part-used sheet would be printed over.
    Bad: rigcard build gorge.rig --start 30, on a sheet of 24
    Good: rigcard build gorge.rig --start 8
    """,
)
NO_ROLE = define(
    "RC506",
    Severity.ERROR,
    "no_such_role",
    """
    Reports: `--role` with a role that the rig's crew does not have.
    Why: an empty pack of cards would be printed for somebody.
    Bad: rigcard build gorge.rig --role operater
    Good: rigcard build gorge.rig --role operator
    """,
)
ID_ALONE = define(
    "RC507",
    Severity.WARNING,
    "id_alone",
    """
    Reports: a moving or flying cable on whose labels only the id has room, not where its plugs go.
    Why: a flag, which would hold all words, flutters and snags there; the id leads to the wiring table only.
    Bad: jacket 2mm; moving, between units with titles of 60 letters, on a sheet with cells of 70 mm
    Good: shorter titles, or a sheet with wider cells
    """,
)
TYPEFACE_UNUSABLE = define(
    "RC509",
    Severity.ERROR,
    "typeface_unusable",
    """
    Reports: a file named by `typeface` that cannot be read, is no TrueType font, or lacks signs that the papers need.
    Why: nothing is ever printed with a sign missing or another typeface than was asked for.
    Bad: typeface "fonts/head.otf", a font with outlines of another kind
    Good: typeface "fonts/head.ttf", "fonts/head-bold.ttf"
    """,
)
CAUTIONS_TOO_TALL = define(
    "RC510",
    Severity.ERROR,
    "cautions_too_tall",
    """
    Reports: a card whose pinned cautions are taller than the card has room for.
    Why: a caution is never dropped, cut or set smaller.
    Bad: a title of three lines on a card with seven hazards
    Good: a shorter title, or `card a5`
    """,
)
DOT_MISSING = define(
    "RC511",
    Severity.WARNING,
    "dot_missing",
    """
    Reports: the program `dot` of Graphviz, which places the wiring diagram, is not on this machine.
    Why: everything but the diagram is written; the diagram cannot be.
    Bad: rigcard build gorge.rig, without Graphviz
    Good: apt-get install graphviz, then the same again
    """,
)
DOT_FAILED = define(
    "RC512",
    Severity.WARNING,
    "dot_failed",
    """
    Reports: the program `dot` is there and gave no usable answer.
    Why: everything but the diagram is written; the diagram cannot be.
    Bad: a broken or very old Graphviz
    Good: Graphviz 2.40 or newer, installed again
    """,
)
UNWRITABLE = define(
    "RC513",
    Severity.ERROR,
    "unwritable",
    """
    Reports: a file or folder for the papers, a depfile, or a rig file to be laid out, that cannot be written.
    Why: a full disk, a folder without permission, a name that a depfile cannot say.
    Bad: rigcard build gorge.rig -o /
    Good: rigcard build gorge.rig -o papers
    """,
)
