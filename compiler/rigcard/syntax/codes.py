"""The codes of the first pass."""

from rigcard.diagnostics import Severity, define

UNEXPECTED_TEXT = define(
    "RC101",
    Severity.ERROR,
    "unexpected_text",
    """
    Reports: a word, number or sign that the statement does not allow at this place.
    Why: each statement has one form, so that a file reads the same to everybody.
    Bad: memory "GORGE C" 4
    Good: memory 4 "GORGE C"
    """,
)
UNKNOWN_STATEMENT = define(
    "RC102",
    Severity.ERROR,
    "unknown_statement",
    """
    Reports: a line begins with a word that begins no statement in this block.
    Why: a misspelt statement that was skipped in silence would be missing from the cards.
    Bad: chanel 1 pan from right-across
    Good: channel 1 pan from right-across
    """,
)
UNCLOSED_BLOCK = define(
    "RC103",
    Severity.ERROR,
    "unclosed_block",
    """
    Reports: a block that is opened with { and never closed with }.
    Why: without the brace nobody can tell which lines belong to the block.
    Bad: unit rx is receiver-8 "Head receiver" { bound to hs
    Good: unit rx is receiver-8 "Head receiver" { bound to hs }
    """,
)
STRAY_BRACE = define(
    "RC104",
    Severity.ERROR,
    "stray_brace",
    """
    Reports: a } that closes nothing.
    Why: most often a block above was closed twice, so the lines between belong to no block.
    Bad: use "stock.rig" }
    Good: use "stock.rig"
    """,
)
UNCLOSED_WORDS = define(
    "RC105",
    Severity.ERROR,
    "unclosed_words",
    """
    Reports: words that begin with a quote and do not end with one on the same line.
    Why: what stands between quotes is printed as it is; the tool must know where it ends.
    Bad: job "Final, day 2
    Good: job "Final, day 2"
    """,
)
WRONG_UNIT = define(
    "RC106",
    Severity.ERROR,
    "wrong_unit",
    """
    Reports: a number without its unit, with the unit of another kind of quantity, or with too many digits.
    Why: 70 may be per cent, steps or microseconds, and each is another place on the servo.
    Bad: travel 65 / 50
    Good: travel 65% / 50%
    """,
)
UNREADABLE_CHARACTER = define(
    "RC107",
    Severity.ERROR,
    "unreadable_character",
    """
    Reports: a character that has no meaning outside quoted words, such as a curly quote.
    Why: word processors change quotes and hyphens as you type; the file then looks right, but it is not.
    Bad: job “Final”
    Good: job "Final"
    """,
)
NOT_TEXT = define(
    "RC108",
    Severity.ERROR,
    "not_text",
    """
    Reports: a file that is not UTF-8 text.
    Why: in another encoding an accent becomes another letter on the card.
    Bad: a rig file saved as UTF-16, or a PDF given in its place
    Good: the same file saved as UTF-8
    """,
    outside="file",
)
UNREADABLE_FILE = define(
    "RC109",
    Severity.ERROR,
    "unreadable_file",
    """
    Reports: a file that is not there or may not be read.
    Why: without it the rig is not complete, and half a rig is not printed.
    Bad: use "stok/radio.rig"
    Good: use "stock/radio.rig"
    """,
    outside="file",
)
FILE_TOO_LARGE = define(
    "RC110",
    Severity.ERROR,
    "file_too_large",
    """
    Reports: a file, or all the files of a rig, of more than 4 MB.
    Why: a rig file of that size is another kind of file, given by mistake.
    Bad: rigcard check video.mov
    Good: rigcard check gorge.rig
    """,
    outside="file",
)
IMPOSSIBLE_DATE = define(
    "RC111",
    Severity.ERROR,
    "impossible_date",
    """
    Reports: a date that no calendar has.
    Why: the date tells an old card from a new one.
    Bad: revision "C" on 2026-02-30
    Good: revision "C" on 2026-02-28
    """,
)
OUTSIDE = define(
    "RC114",
    Severity.ERROR,
    "outside_the_folder",
    """
    Reports: `use` of a file outside the folder of the rig file and outside every folder named with `--stock`.
    Why: a rig has to be whole in one folder to be copied and built again, and a file from elsewhere must not reach into the disk of its reader.
    Bad: use "../../old/radio.rig"
    Good: use "stock/radio.rig"
    """,
)
USED_TOO_DEEP = define(
    "RC115",
    Severity.ERROR,
    "used_too_deep",
    """
    Reports: a chain of more than 20 files in which each uses the next.
    Why: nobody finds a model at the end of such a chain, and a chain that a program writes may never end.
    Bad: use "stock/a.rig", which uses b.rig, which uses c.rig, and so on
    Good: use "stock/a.rig" and use "stock/b.rig", both in the rig file
    """,
)
TOO_MANY_FILES = define(
    "RC116",
    Severity.ERROR,
    "too_many_files",
    """
    Reports: a rig of more than 200 files.
    Why: a rig has about ten files of models; if it has hundreds, somebody used a whole archive by mistake.
    Bad: use "archive.rig", which uses every file of ten years
    Good: use "stock/radio.rig"
    """,
)
