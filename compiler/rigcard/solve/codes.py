"""The codes of the search itself; `rules` holds the codes of the claims that judge its result."""

from rigcard.diagnostics import Severity, define

NOTHING_TO_SOLVE = define(
    "RC401",
    Severity.ERROR,
    "nothing_to_solve",
    """
    Reports: a channel with `auto` for which the file states no wanted level or state, or a mix `at auto` whose source it does not speak of.
    Why: without a wanted state or level, no value is better than another.
    Bad: channel 5 record from left-flip travel auto, and no `expect` for left-flip
    Good: the same, and expect hs.left-flip.away gives cam.standby
    """,
)
OUT_OF_REACH = define(
    "RC402",
    Severity.ERROR,
    "out_of_reach",
    """
    Reports: a wanted level or state that no value of the handset reaches.
    Why: even the nearest value is outside the band; the device would do something else or nothing.
    Bad: aims away 40%, toward 65%, on a handset whose sub-trim shifts by 12% at most
    Good: aims away -40%, toward 65%
    """,
)
SEARCH_GIVEN_UP = define(
    "RC481",
    Severity.WARNING,
    "search_given_up",
    """
    Reports: a channel with `auto` on a handset with such fine steps that the compiler could not try all values in a reasonable time.
    Why: the values are good, but untried ones may be better.
    Bad: travel, sub-trim, reversal and a mix left open on a handset with steps of a thousandth of a per cent
    Good: the same, with the sub-trim stated
    """,
)
READINGS_DISAGREE = define(
    "RC485",
    Severity.ERROR,
    "readings_disagree",
    """
    Reports: readings of a handset that no handset gives, or that the stated lines of its model exclude.
    Why: a value was dialled otherwise, a digit was read wrongly, or a line of the model is wrong; nothing is guessed.
    Bad: reverse before subtrim, and reading subtrim 80 reversed at top-rocker.middle is 1440us on a handset of 1500us
    Good: reverse before subtrim, and reading subtrim 80 reversed at top-rocker.middle is 1560us
    """,
)
