"""A verdict as the plain record that goes out as JSON: °C, fraction, Pa, m, s; times UTC; missing numbers null.

Keys are only ever added; `schema` counts the forms.
"""

import math
from datetime import UTC, datetime
from typing import Any

from advisor.advice import words
from advisor.advice.conditions import Surface
from advisor.advice.finding import Finding
from advisor.advice.verdict import Verdict
from advisor.physics.air_state import AirState
from advisor.shop.shop import Shop

SCHEMA = 1


def verdict_record(verdict: Verdict, shop: Shop, computed_at: datetime) -> dict[str, Any]:
    """The record of one verdict."""
    return {
        "schema": SCHEMA,
        "as_of": utc(verdict.as_of),
        "computed_at": utc(computed_at),
        "valid_until": utc(verdict.valid_until),
        "holds_until": None if verdict.holds_until is None else utc(verdict.holds_until),
        "coating": verdict.coating.id,
        "place": verdict.place,
        "state": verdict.state.value,
        "cannot_tell": verdict.cannot_tell,
        "air": None if verdict.air is None else _air(verdict.air, verdict.surface),
        "findings": [_finding(finding, verdict, shop) for finding in verdict.findings],
        "cautions": list(words.cautions(verdict)),
    }


def utc(moment: datetime) -> str:
    """ISO 8601 in UTC with Z, to the second."""
    return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def number(value: float | None) -> float | None:
    """A number for JSON: rounded to 1e-6, and null instead of NaN or infinity."""
    return round(value, 6) if value is not None and math.isfinite(value) else None


def _air(air: AirState, surface: Surface | None) -> dict[str, Any]:
    return {
        "air_temperature": number(air.air_temperature),
        "air_temperature_uncertainty": number(air.air_temperature_uncertainty),
        "relative_humidity": number(air.relative_humidity),
        "relative_humidity_uncertainty": number(air.relative_humidity_uncertainty),
        "pressure": number(air.pressure),
        "dew_point": number(air.dew_point),
        "dew_point_uncertainty": number(air.dew_point_uncertainty),
        "humidity_ratio": number(air.humidity_ratio),
        "humidity_ratio_uncertainty": number(air.humidity_ratio_uncertainty),
        "wet_bulb": number(air.wet_bulb),
        "wet_bulb_uncertainty": number(air.wet_bulb_uncertainty),
        "surface_temperature": None if surface is None else number(surface.value),
        "surface_temperature_uncertainty": None if surface is None else number(surface.uncertainty),
        "surface_basis": None if surface is None else surface.basis,
    }


def _finding(finding: Finding, verdict: Verdict, shop: Shop) -> dict[str, Any]:
    return {
        "rule": finding.rule,
        "level": finding.level.value,
        "deciding": finding.deciding,
        "side": finding.side.value,
        "quantity": finding.quantity or None,
        "reason": finding.reason or None,
        "measured": number(finding.measured),
        "limit": number(finding.limit),
        "go_limit": number(finding.go_limit),
        "unit": finding.unit,
        "margin": number(finding.margin),
        "uncertainty": number(finding.uncertainty),
        "remedy": words.remedy(finding, shop) or None,
        "remedies": [
            {
                "kind": way.kind,
                "target": number(way.target),
                "relative_humidity": number(way.relative_humidity),
                "words": _spoken(way.kind, finding, shop, index),
            }
            for index, way in enumerate(finding.remedies)
        ],
        "words": words.reason(finding, verdict, shop) if finding.level.value != "ok" else None,
        "source": finding.source,
    }


def _spoken(kind: str, finding: Finding, shop: Shop, index: int) -> str:
    return words.remedy(finding, shop) if kind == "read_again" else words.remedy_words(finding.remedies[index], shop)
