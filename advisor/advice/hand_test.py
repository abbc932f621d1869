"""What is tried by hand before the next coat: a clock counts hours, only the coat itself tells that it is ready.

Common practice, no source. Nobody is sent to smell a coat that holds isocyanate: it has no warning smell.
"""

from advisor.catalog.coatings import Coating

BARE = "dry, sanded, free of dust"  # wood, or whatever the first coat goes on


def hand_test(under: Coating | None) -> str:
    """What the coat below must answer, in a few words; of a bare piece where there is none."""
    if under is None:
        return BARE
    if under.burns_in:  # what melts into the next coat need not sand, but must have let its solvent go
        return "no smell, no thumb print"
    if under.carrier == "water":
        return "sands to powder, not cool to the touch"
    if under.isocyanate:
        return "sands to powder, no thumb print"
    return "sands to powder, no smell"
