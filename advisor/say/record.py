"""A verdict as the plain record that goes out as JSON: °C, fraction, Pa, m, s; times UTC; missing numbers null.

An advice as text and as JSON: the verdict, and beside it dust, the night, and what was typed without effect.
"""

from collections.abc import Sequence
from dataclasses import fields, replace
from datetime import datetime
from typing import Any

from advisor.film.drying import DryingTimes
from advisor.film.film_map import FilmAnswer
from advisor.judge.course import Moment
from advisor.judge.finding import Finding, Remedy
from advisor.judge.panel_rule import PANEL
from advisor.judge.plan import fan_flow
from advisor.judge.session import Failure, Session
from advisor.judge.vapour_rule import VapourNote
from advisor.judge.verdict import Verdict
from advisor.judge.warm_up import WarmUp
from advisor.outlook.day_ahead import NightAhead
from advisor.room.dust import DustView
from advisor.say import film_words, finding_words, session_words, words
from advisor.say.as_json import SCHEMA, Forms
from advisor.say.phrases import cautions_of
from advisor.say.room_words import dust_words, night_words
from advisor.shop.shop import Shop
from advisor.ways.advise import Advice
from advisor.ways.changes import Change
from advisor.ways.tries import Way

_VERDICT = (
    "schema as_of=verdict.as_of computed_at valid_until=verdict.valid_until holds_until=verdict.holds_until"
    " coating=verdict.coating.id place=verdict.place state=verdict.state cannot_tell=verdict.cannot_tell air!"
    " findings=verdict.findings film! times! time_ratios! changes as_it_stands=verdict.as_it_stands"
    " session=verdict.session remedies ways_as_of warm_up=verdict.warm_up cautions"
)
_AIR = (
    "air_temperature=air.air_temperature air_temperature_uncertainty=air.air_temperature_uncertainty"
    " relative_humidity=air.relative_humidity relative_humidity_uncertainty=air.relative_humidity_uncertainty"
    " pressure=air.pressure dew_point=air.dew_point dew_point_uncertainty=air.dew_point_uncertainty"
    " humidity_ratio=air.humidity_ratio humidity_ratio_uncertainty=air.humidity_ratio_uncertainty"
    " wet_bulb=air.wet_bulb wet_bulb_uncertainty=air.wet_bulb_uncertainty surface_temperature=surface.value"
    " surface_temperature_uncertainty=surface.uncertainty surface_basis=surface.basis"
)
RATIOS = "closing drying reaction"  # how the times follow from the sheet's: ratios to its reference conditions
TIMES = " ".join(each.name for each in fields(DryingTimes) if each.name not in RATIOS.split())  # [s] after spraying


_FILM = (
    "thinner=blush.case.mix.thinner thinner_unknown retarder=blush.case.mix.retarder gun=blush.case.gun"
    " substrate=blush.case.substrate"
)


def _words(finding: Finding, verdict: Verdict, shop: Shop) -> str | None:
    told = finding.level.value != "ok" or finding.rule == PANEL
    return finding_words.reason(finding, verdict, shop) if told else None


def _remedy(finding: Finding, verdict: Verdict, shop: Shop) -> str | None:
    proved = replace(finding, remedies=finding_words.told_remedies(finding, verdict))
    return finding_words.remedy(proved, verdict.coating, shop) or None


def _remedies(finding: Finding, verdict: Verdict, shop: Shop) -> list[dict[str, Any]]:
    told = []
    for way in finding_words.told_remedies(finding, verdict):
        of_finding = way.kind in ("read_again", "less_vapour")
        said = finding_words.remedy(finding, verdict.coating, shop) if of_finding else finding_words.remedy_words(
            way, verdict.coating, shop
        )  # fmt: skip
        told.append({**VERDICT_FORMS(way), "words": said})
    return told


def _held(answer: FilmAnswer, *_: object) -> float | None:
    """Water against slow solvent; null where there is hardly any solvent left, or a dispersion packs."""
    share = answer.outcome.water_to_slow_solvent
    return share if not answer.case.mix.dispersion and share <= film_words.MOST_WATER else None


# beside each record: the verdict it is part of, and the shop
VERDICT_FORMS = Forms(
    {
        Finding: (
            "rule level deciding side quantity? reason? measured limit go_limit unit margin uncertainty",
            {"remedy": _remedy, "remedies": _remedies, "words": _words},
            {"figures": lambda finding, *_: dict(finding.figures)},
            "source",
        ),
        Remedy: "kind target relative_humidity state? measure together",
        FilmAnswer: (
            "lowest_film_temperature=outcome.lowest dew_point=outcome.dew_point",
            {
                "minutes_below_dew": lambda answer, *_: answer.outcome.below_dew / 60.0,
                "water_condensed": lambda answer, *_: answer.outcome.condensed * 1e3,
                "water_to_slow_solvent_at_set": _held,
                "water_to_slow_solvent_clear_up_to": lambda answer, *_: (
                    None
                    if answer.case.mix.dispersion or answer.case.mix.clear_by is not None
                    else answer.outcome.clear_up_to
                ),
            },
            "slow_solvent_share_at_set=outcome.slow_share",
            {
                "film_temperature_at_packing": lambda answer, *_: (
                    answer.outcome.at_packing if answer.case.mix.dispersion else None
                )
            },
            "blush_onset_relative_humidity=blush_onset dew_onset_relative_humidity=dew_onset",
        ),
        Change: (
            "kind thinner=pot.thinner retarder=pot.retarder air_temperature relative_humidity state panel_first measure"
            " recoat_from recoat_from_now=recoat_now",
            {"words": lambda way, verdict, shop: film_words.change(way, verdict.coating, shop)},
        ),
        WarmUp: (  # [s]; null where the present air never brings it there
            "over_dew_point=over_dew over_dew_point_stacked=stacked.0 dew_point_margin=margin at_low_limit=at_low"
            " at_low_limit_stacked=stacked.1 low_limit=low"
        ),
        Session: (  # its plan [s], the air that comes in, and the minutes along it
            "coats=plan.coats spray=plan.spray flash=plan.flash pause=plan.pause open_before=plan.open_before"
            " length=plan.length fan_after=plan.fan_after exhaust_flow=flow by_one_flow"
            " outdoor_air_temperature=outdoors.0 outdoor_relative_humidity=outdoors.1 level first_stop=stop"
            " first_change=change minutes=moments"
        ),
        Failure: (
            "seconds=moment.seconds rule=finding.rule side=finding.side measured=finding.measured limit=finding.limit"
            " unit=finding.unit"
        ),
        Moment: "seconds air_temperature relative_humidity dew_point surface_temperature=surface spraying",
        Way: (
            "kind state minutes energy power temperature relative_humidity make_up_air_rise=rise"
            " piece_temperature=pieces measure thinner=pot.thinner retarder=pot.retarder coats=plan.coats",
            {
                "exhaust_flow": lambda way, verdict, shop: fan_flow(shop),
                "words": lambda way, verdict, shop: session_words.way_words(way, verdict.coating, shop),
            },
        ),
        VapourNote: (  # m3/s, m3, fractions, s
            "made~ share_of_lower_limit!=share too_much exhaust_needed~",
            {"mask_and_fan_at_least": lambda note, *_: max(note.fan_on, note.no_entry)},
            "fan_on_at_least=fan_on nobody_without_mask_for=no_entry spray_rate~=rate most_spray_rate~=most_rate"
            " room_volume=room exhaust_flow=flow taken=guessed",
        ),
        DustView: "count clean index limit clean_in",  # 1/m3, ratios, s
        NightAhead: "low low_at low_edge dew_at dew_point piece",
    }
)


def verdict_record(
    verdict: Verdict,
    shop: Shop,
    computed_at: datetime,
    changes: Sequence[Change] = (),
    times: DryingTimes | None = None,
    session_ways: Sequence[Way] = (),
    ways_as_of: datetime | None = None,
) -> dict[str, Any]:
    """The record of one verdict, with the computed changes that would mend it, and when they were; None: not sought."""
    asked = {
        "schema": SCHEMA,
        "computed_at": computed_at,
        "verdict": verdict,
        "air": None if verdict.air is None else VERDICT_FORMS.keyed(_AIR, verdict),
        # the same keys as `advisor film`
        "film": verdict.film and {**VERDICT_FORMS.keyed(_FILM, verdict.film), **VERDICT_FORMS(verdict.film.blush)},
        "times": None if times is None else VERDICT_FORMS.keyed(TIMES, times),
        "time_ratios": None if times is None else VERDICT_FORMS.keyed(RATIOS, times),
        "changes": list(changes),
        "remedies": list(session_ways),
        "ways_as_of": ways_as_of,
        "cautions": cautions_of(verdict.coating),
    }
    return VERDICT_FORMS.keyed(_VERDICT, asked, verdict, shop)


def told(
    advice: Advice, shop: Shop, coats: int | None, since_sanding: float | None, matt: bool, lines: int
) -> list[str]:
    """The paragraphs, of so many lines at most. coats, since_sanding [s], matt: as typed."""
    ways = advice.ways
    first = dust_words(advice.dust, since_sanding, matt, shop) or night_words(advice.night, shop)
    as_it_is = (coats or 0) > 1 and advice.verdict.session is None
    no_dust = matt and advice.dust is None and since_sanding is None
    notes = (
        f"Air outdoors not known: the {coats} coats are judged in the room as it is now." if as_it_is else "",
        "--matt counts with a particle counter or --sanded: dust is not known." if no_dust else "",
    )
    return words.told(
        advice.verdict,
        shop,
        () if ways is None else ways.changes,
        advice.times,
        () if ways is None else ways.remedies,
        first,
        advice.plan,
        notes=notes,
        lines=lines,
    )


def beside_record(advice: Advice) -> dict[str, Any]:
    """Dust, vapour and night of an advice, beside its verdict's own keys."""
    return VERDICT_FORMS.keyed("dust vapour=verdict.vapour night", advice)


def advice_record(advice: Advice, shop: Shop, computed_at: datetime) -> dict[str, Any]:
    """The record of an advice: its verdict's, with the ways and times known."""
    ways = advice.ways
    if ways is None:
        return verdict_record(advice.verdict, shop, computed_at, times=advice.times)
    return verdict_record(advice.verdict, shop, computed_at, ways.changes, advice.times, ways.remedies, ways.as_of)
