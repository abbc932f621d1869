"""What is said of a shop's own coats."""

from collections.abc import Sequence

from advisor.review.learning import FEWEST, FEWEST_FAILED, Learned, Share
from advisor.review.words import in_units
from advisor.say.as_json import Forms
from advisor.say.numbers import percent
from advisor.shop.shop import Shop


def told(name: str, coats: int, failed: int, learned: Sequence[Learned], shop: Shop) -> list[str]:
    """A head and a line for each mechanism, the surest first; what the coats do not carry is not said."""
    lines = [f"{name}: {coats} coats, {failed} with a defect."]
    if not learned:
        return [*lines, "No failed coat that the air could have made."]
    for each in sorted(learned, key=lambda one: -one.worse):
        limit = in_units(each.limit, each.unit, each.exposure, shop)
        lines.append(
            f"{each.mechanism.label}: failed {_share(each.within)} within {limit}, {_share(each.over)} beyond it."
        )
        if each.proposed is not None and each.proposed_within and each.proposed_over:
            own = in_units(each.proposed, each.unit, each.exposure, shop)
            lines.append(
                f"  Your own limit would be {own}: {_share(each.proposed_within)} within,"
                f" {_share(each.proposed_over)} beyond. Nothing is changed: set it yourself if you believe it."
            )
    if coats < FEWEST or failed < FEWEST_FAILED:
        lines.append(f"Too few for a limit of your own: it takes {FEWEST} coats, {FEWEST_FAILED} of them failed.")
    return lines


def _share(share: Share) -> str:
    return f"{share.failed} of {share.coats} ({percent(share.low)} to {percent(share.high)})"


learned_record = Forms(
    {
        Learned: (
            "mechanism=mechanism.id exposure unit limit within over worse_over=worse proposed_limit=proposed"
            " proposed_within proposed_over"
        ),
        Share: "coats failed mean low high",
    }
)
