"""A review as one page of HTML: it needs no network, no script and no other file, and prints."""

from collections.abc import Iterable, Sequence
from html import escape

from advisor.catalog.limits import in_short
from advisor.catalog.mechanisms import AIR, defects
from advisor.errors import printable
from advisor.judge.verdict import cautions_for
from advisor.review.causes import Cause, Standing
from advisor.review.exposure import Exposures
from advisor.review.of_the_coat import UNSAID
from advisor.review.page import words
from advisor.review.page.film_track import film_tracks
from advisor.review.page.picture import picture, shown_spans, svg
from advisor.review.page.report_words import (
    EXPOSURES,
    STANDINGS,
    alt_text,
    applies,
    limit_shown,
    number_and_unit,
    read_share,
    silent,
    window_shown,
)
from advisor.review.reviewed import Reviewed
from advisor.say.numbers import capital, moment
from advisor.say.phrases import CAUTION_WORDS
from advisor.shop.shop import Shop

_STYLE = """
:root { color-scheme: light; }
body { margin: 0; background: #fff; color: #111; font: 1rem/1.5 system-ui, sans-serif; overflow-wrap: break-word; }
main { max-width: 46em; margin: 0 auto; padding: 1rem; }
h1 { font-size: 1.5rem; line-height: 1.2; margin: 0 0 .3rem; }
h2 { font-size: 1.15rem; margin: 1.6rem 0 .4rem; break-after: avoid; }
.lead { font-size: 1.15rem; font-weight: 700; border-left: .3rem solid #111; padding: .3rem .7rem; margin: .8rem 0; }
p, ul, ol { margin: .4rem 0; }
ul, ol { padding-left: 1.3rem; }
figure { margin: 1rem 0; break-inside: avoid; }
figcaption, small { color: #333; font-size: .9rem; }
small { display: block; }
svg { display: block; width: 100%; height: auto; }
svg * { stroke-linejoin: round; stroke-linecap: butt; }
.narrow { display: none; max-width: 26em; }
table { border-collapse: collapse; width: 100%; }
th, td { text-align: left; vertical-align: top; padding: .3rem .5rem .3rem 0; border-bottom: 1px solid #999; }
th { border-bottom: 2px solid #111; }
thead th, td.measured, td.limit, td.unit { white-space: nowrap; }
.measured, .limit { text-align: right; }
tr { break-inside: avoid; }
.cautions { border: 2px solid #111; padding: .2rem .8rem .6rem; margin-top: 1.6rem; break-inside: avoid; }
@media screen and (max-width: 40em) {
  .wide { display: none; }
  .narrow { display: block; }
  thead { display: none; }
  table, tbody, tr, td { display: block; text-align: left; }
  tr { border-bottom: 1px solid #999; padding: .5rem 0; }
  td { border: 0; padding: 0; }
  td:first-child { font-weight: 700; }
  td:first-child small { font-weight: 400; }
  td.measured, td.limit, td.unit { display: inline; padding: 0; white-space: normal; }
  td:not(:first-child):not(:empty)::before { content: attr(data-label) ": "; }
  td.limit:not(:empty)::before { content: ", limit: "; }
  td.unit:not(:empty)::before { content: " "; }
  td:empty { display: none; }
}
@page { margin: 12mm; }
@media print {
  html { font-size: 10pt; }
  body { line-height: 1.35; }
  main { max-width: none; padding: 0; }
  h2 { margin-top: 1.1rem; }
  th, td { padding: .15rem .5rem .15rem 0; }
}
"""
_NUMBERS = ("measured", "limit", "unit")


def report(found: Reviewed, others: Sequence[Reviewed], place: str, shop: Shop) -> str:
    """The page of one coat. others: the rest of its job's coats, told in a line each."""
    name, defect = found.exposed.seen.coating.name, found.causes.defect
    title = f"{found.coat.name or name}: {'a coat read back' if defect is None else defects()[defect].name}"
    when = f"{name}, sprayed {moment(found.coat.sprayed, shop.zone)}; readings of {place}."
    silences = _items(silent(found.exposed, shown_spans(found), shop))
    cautions = [*(CAUTION_WORDS[key] for key in cautions_for(found.exposed.seen.coating)), *words.sanding(found)]
    parts = [
        f"<h1>{_text(title)}</h1>",
        f"<p>{_text(when)}</p>",
        f'<p class="lead">{_text(words.outcome(found.causes))}</p>',
        _items(_said(found, shop)),
        _next_time(found, shop),
        _repair(found),
        _section(
            "What can have caused it",
            _table(
                ("cause", "what the readings say", "measured", "limit", "unit"),
                (_cause_row(cause, shop) for cause in found.causes.judged),
            ),
        ),
        _pictured(found, shop),
        _section("What the air did not do", _cleared(found, shop)),
        _section(
            "What no reading shows",
            _items(f"{capital(other.label)}: {other.change}." for other in found.causes.others if defect is not None),
        ),
        _section("What it was exposed to", _exposures(found.exposed, shop)),
        _section(
            "What was not read, and readings that do not count",
            silences or "<p>In the hours shown every reading counts.</p>",
        ),
        _section("The other coats of the job", _items(_in_short(other, shop) for other in others)),
        f'<div class="cautions">\n<h2>Cautions</h2>\n{_items(cautions)}\n</div>',
    ]
    body = "\n".join(part for part in parts if part)
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{_text(title)}</title>\n<style>{_STYLE}</style>\n</head>\n<body>\n<main>\n{body}\n</main>\n</body>\n"
        "</html>\n"
    )


def _text(words_: str) -> str:
    """Text for a page: what is no letter is a question mark, what is markup stays text."""
    return escape(printable(words_))


def _items(lines: Iterable[str]) -> str:
    inside = "".join(f"<li>{_text(line)}</li>" for line in lines if line)
    return f"<ul>{inside}</ul>" if inside else ""


def _section(title: str, inside: str) -> str:
    return f"<h2>{_text(title)}</h2>\n{inside}" if inside else ""


def _in_short(found: Reviewed, shop: Shop) -> str:
    name = f"{found.coat.name}: " if found.coat.name else ""
    return f"{name}sprayed {moment(found.coat.sprayed, shop.zone)}. {words.outcome(found.causes)}"


def _said(found: Reviewed, shop: Shop) -> list[str]:
    """The causes that the readings support, doubted sensors, why it cannot be told, and the coat beside it."""
    return [
        *(words.supported(cause, found, shop) for cause in words.shown(found.causes)),
        *words.doubted(found, shop),
        *(words.cause(cause, shop) for cause in found.causes.untold if found.cannot_tell),
        words.sibling(found, shop),
        words.question(found, shop),
    ]


def _next_time(found: Reviewed, shop: Shop) -> str:
    inside = _items(f"{capital(change)}." for change in words.next_time(found))
    if found.ways:
        ways = _items(f"{capital(words.way(way, shop))}." for way in found.ways)
        inside += f"\n<p>Any one of these, computed, and it would have been a GO:</p>\n{ways}"
    if words.off_first(found):
        inside += f"\n<p>{words.OFF_FIRST}</p>"
    return _section("Next time", inside)


def _repair(found: Reviewed) -> str:
    repairs = words.repairs(found)
    if not repairs:
        return ""
    lines = [f"{capital(repair)}." for repair in repairs]
    lines.append("Try it on a panel first: common practice, no source. The data sheets decide.")
    return _section("Repair", _items(lines))


def _pictured(found: Reviewed, shop: Shop) -> str:
    films, spans = film_tracks(found), shown_spans(found)
    alt = _text(alt_text(found, films, spans, shop))
    drawn = ""
    for kind, narrow in (("wide", False), ("narrow", True)):
        inside = svg(picture(found, films, shop, narrow), f"{kind}-")
        drawn += f'<div class="{kind}" role="img" aria-label="{alt}">{inside}</div>\n'
    caption = (
        "Above, the wet film by the minute, in the air as it landed. Beneath, the hours about it by the clock"
        f" ({shop.zone or 'UTC'}). Nothing is drawn where nothing good was read."
    )
    return f"<figure>\n{drawn}<figcaption>{_text(caption)}</figcaption>\n</figure>"


def _table(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """A table that falls apart into lines on a phone; a cell's text after a line break is small."""

    def kind(head: str) -> str:
        return f' class="{head}"' if head in _NUMBERS else ""

    head = "".join(f'<th scope="col"{kind(name)}>{_text(name)}</th>' for name in heads)
    body = ""
    for row in rows:
        cells = ""
        for name, cell in zip(heads, row, strict=True):
            first, _, second = cell.partition("\n")
            small = f"<small>{_text(second)}</small>" if second else ""
            cells += f'<td data-label="{_text(name)}"{kind(name)}>{_text(first)}{small}</td>'
        body += f"<tr>{cells}</tr>\n"
    return f"<table>\n<thead><tr>{head}</tr></thead>\n<tbody>\n{body}</tbody>\n</table>" if body else ""


def _cause_row(cause: Cause, shop: Shop) -> tuple[str, ...]:
    standing = STANDINGS[cause.standing]
    if cause.standing is Standing.CANNOT_TELL:
        standing += f": {in_short(cause.reason)}"
    name = f"{capital(cause.mechanism.label)}\n{EXPOSURES[cause.exposure]}"
    known = cause.limit if cause.measured is None else cause.measured
    (number, _), (_, unit) = (
        number_and_unit(each, cause.unit, cause.exposure, shop) for each in (cause.measured, known)
    )  # fmt: skip
    return name, standing, number, limit_shown(cause, shop), unit


def _cleared(found: Reviewed, shop: Shop) -> str:
    cleared = [
        words.cause(cause, shop)
        for cause in found.causes.judged
        if cause.standing is Standing.AGAINST and cause.mechanism.kind == AIR
    ]
    if not cleared and any(cause.mechanism.kind == AIR for cause in found.causes.untold):
        return "<p>Nothing of the air can be ruled out by these readings.</p>"
    return _items(cleared)


def _exposures(exposed: Exposures, shop: Shop) -> str:
    every = exposed.by_name.values()
    table = _table(
        ("exposure", "measured", "unit", "when", "share read"),
        (
            (
                capital(EXPOSURES[each.name]), *number_and_unit(each.measured, each.unit, each.name, shop),
                window_shown(each, shop), read_share(each),
            )
            for each in every
            if (each.measured is not None or each.window is not None) and applies(each, exposed.seen.coating)
        ),
    )  # fmt: skip
    unsaid = [EXPOSURES[each.name] for each in every if each.measured is None and each.reason == UNSAID]
    return table + (f"\n<p>Nobody said: {_text('; '.join(unsaid))}.</p>" if unsaid else "")
