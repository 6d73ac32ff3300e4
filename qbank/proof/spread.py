"""The spread of a family or bank: answers by case, what the rules turned away, checks made."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from qbank.checking.report import CheckReport
from qbank.expressions.symbols import with_unit
from qbank.proof.bins import Bins, bins_for
from qbank.proof.gather import Proof, Series
from qbank.proof.instances import checks_table
from qbank.proof.text import attribute, escape
from qbank.rendering.plain import number_text
from qbank.sampling.tally import Tally

WIDTH, HEIGHT = 340, 150  # of a histogram, in CSS pixels
LEFT, RIGHT, TOP, BOTTOM = 34, 12, 10, 24


def spread(proof: Proof) -> Iterator[str]:
    """The section on the spread, piece by piece."""
    yield _cases(proof)
    if proof.tally is not None:
        yield _rules(proof.tally)
    if proof.series:
        yield "<h3>Answers</h3>"
        for place, series in enumerate(proof.series, 1):
            yield _histograms(series, list(proof.cases), f"spread-{place}")
    if proof.checks is not None:
        yield _checks(proof.checks)


# ---------------------------------------------------------------------------- tables


def _cases(proof: Proof) -> str:
    named = {case: n for case, n in proof.cases.items() if case}
    if not named:
        return ""
    rows = "".join(
        f'<tr><th scope="row">{escape(case or "not said")}</th><td class="number">{n:,}</td>'
        f'<td class="number">{_share(n, proof.total)}</td><td>{_bar(n, proof.total)}</td></tr>'
        for case, n in proof.cases.items()
    )
    return (
        f'<h3>Cases</h3><div class="scroll"><table><caption>Instances of each case, of '
        f'{proof.total:,}</caption><thead><tr><th scope="col">case</th><th scope="col" '
        'class="number">instances</th><th scope="col" class="number">share</th><td></td></tr>'
        f"</thead><tbody>{rows}</tbody></table></div>"
    )


def _rules(tally: Tally) -> str:
    """Every rule of the author, and those the method implies that turned something away."""
    rows = []
    for ruling, reached, rejected in zip(
        tally.rulings, tally.reached.tolist(), tally.rejected.tolist(), strict=True
    ):
        if ruling.author or rejected:
            rows.append(
                f'<tr><th scope="row">{escape(ruling.need)}'
                f'<p class="note">{escape(ruling.because)}</p></th>'
                f'<td class="number">{reached:,}</td><td class="number">{rejected:,}</td>'
                f'<td class="number">{_share(rejected, reached)}</td>'
                f"<td>{_bar(rejected, reached)}</td></tr>"
            )
    said = (
        f"<p>{tally.candidates:,} draws were tried and {tally.accepted:,} accepted, "
        f"{_share(tally.accepted, tally.candidates)}. The rules are applied in this order; a draw "
        "that one turns away does not reach the next.</p>"
    )
    if not rows:
        return f"<h3>Rules</h3>{said}"
    return (
        f'<h3>Rules</h3>{said}<div class="scroll"><table><caption>How often each rule binds'
        '</caption><thead><tr><th scope="col">rule</th><th scope="col" class="number">reached</th>'
        '<th scope="col" class="number">turned away</th><th scope="col" class="number">share</th>'
        f"<td></td></tr></thead><tbody>{''.join(rows)}</tbody></table></div>"
    )


def _checks(checks: CheckReport) -> str:
    failed = checks.made - checks.passed
    verdict = "All passed." if not failed else f"{failed:,} did not pass."
    return (
        f"<h3>Checks</h3><p>{checks.made:,} checks were made. {verdict}</p>{checks_table(checks)}"
    )


def _share(part: int, whole: int) -> str:
    """A share in per cent; called none or all only where it is."""
    if not whole:
        return "–"
    share = 100.0 * part / whole
    if part and share < 0.1:
        return "under 0.1 %"
    if part < whole and share > 99.9:
        return "over 99.9 %"
    return f"{share:.1f} %" if 0 < part < whole else f"{share:.0f} %"


def _bar(part: int, whole: int) -> str:
    """The share as a bar; the number stands beside it, so that it needs no words."""
    width = 100.0 * part / whole if whole else 0.0
    return (
        '<svg class="bar" viewBox="0 0 100 8" width="100" height="8" aria-hidden="true">'
        '<rect class="track" x="0.5" y="0.5" width="99" height="7"/>'
        f'<rect class="fill" x="0" y="0" width="{width:.1f}" height="8"/></svg>'
    )


# ---------------------------------------------------------------------------- histograms


def _histograms(series: Series, order: Sequence[str], name: str) -> str:
    """One histogram a case, all with the same bins and scale, and the same as a table."""
    finite = np.isfinite(series.values)
    values = series.values[finite]
    if not len(values):
        return ""
    bins = bins_for(values)
    cases = np.array(series.cases, dtype=object)[finite]
    counts = {case: bins.counts(values[cases == case]) for case in order if (cases == case).any()}
    tallest = max(int(column.max()) for column in counts.values())
    title = f"{series.title}{', in ' + series.unit if series.unit else ''}"
    panels = "".join(
        _panel(bins, column.tolist(), tallest, case, series) for case, column in counts.items()
    )
    low, high = number_text(float(values.min())), number_text(float(values.max()))
    median = number_text(float(np.quantile(values, 0.5, method="inverted_cdf")))
    low, high, median = (with_unit(text, series.unit) for text in (low, high, median))
    extent = f"From {low} to {high}; half of the answers are at most {median}."
    powers = " The bins widen with the values." if bins.by_powers else ""
    return (
        f'<figure class="spread" aria-labelledby="{name}"><figcaption id="{name}">{escape(title)}'
        f'</figcaption><div class="panels">{panels}</div>'
        f'<p class="note">{escape(extent)}{powers}</p>'
        f"<details><summary>As a table</summary>{_table(bins, counts)}</details></figure>\n"
    )


def _panel(bins: Bins, counts: list[int], tallest: int, case: str, series: Series) -> str:
    edges = [number_text(float(edge)) for edge in bins.edges]
    busiest = max(range(len(counts)), key=counts.__getitem__)
    said = (
        f"{case + ': ' if case else ''}{sum(counts):,} answers from {edges[0]} to "
        f"{with_unit(edges[-1], series.unit)}, most of them, {counts[busiest]:,}, from "
        f"{edges[busiest]} to {edges[busiest + 1]}"
    )
    wide, tall = WIDTH - LEFT - RIGHT, HEIGHT - TOP - BOTTOM
    floor, step = HEIGHT - BOTTOM, wide / len(counts)
    bars = "".join(
        f'<rect class="fill" x="{LEFT + k * step + 1:.1f}" y="{floor - tall * n / tallest:.1f}" '
        f'width="{max(step - 2, 1):.1f}" height="{tall * n / tallest:.1f}"/>'
        for k, n in enumerate(counts)
        if n
    )
    every = max(1, -(-max(map(len, edges)) * 7 // int(step)))  # edges labelled, so that none meet
    labels = "".join(
        f'<text x="{LEFT + k * step:.1f}" y="{HEIGHT - 7}" text-anchor="middle">{edge}</text>'
        f'<path class="axis" d="M{LEFT + k * step:.1f} {floor}v4"/>'
        for k, edge in enumerate(edges)
        if k % every == 0
    )
    caption = f'<p class="case">{escape(case)}</p>' if case else ""
    return (
        f'<div class="panel">{caption}<svg viewBox="0 0 {WIDTH} {HEIGHT}" width="{WIDTH}" '
        f'height="{HEIGHT}" role="img" aria-label="{attribute(said)}">'
        f'<path class="axis" d="M{LEFT} {TOP}V{floor}H{WIDTH - RIGHT}"/>{bars}{labels}'
        f'<text x="{LEFT - 6}" y="{TOP + 8}" text-anchor="end">{tallest:,}</text>'
        f'<text x="{LEFT - 6}" y="{floor}" text-anchor="end">0</text></svg></div>'
    )


def _table(bins: Bins, counts: dict[str, np.ndarray[tuple[int], np.dtype[np.int64]]]) -> str:
    head = "".join(
        f'<th scope="col" class="number">{escape(case or "answers")}</th>' for case in counts
    )
    edges = [number_text(float(edge)) for edge in bins.edges]
    rows = "".join(
        f'<tr><th scope="row">{edges[k]} to {edges[k + 1]}</th>'
        + "".join(f'<td class="number">{int(column[k]):,}</td>' for column in counts.values())
        + "</tr>"
        for k in range(len(edges) - 1)
    )
    return (
        f'<div class="scroll"><table><thead><tr><th scope="col">from, up to</th>{head}</tr></thead>'
        f"<tbody>{rows}</tbody></table></div>"
    )
