"""All checks of a family, in the order of telling: what is wrong further up explains more below."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from types import MappingProxyType
from typing import Any

from qbank.errors import CheckFailed, DrawError, FamilyError, QbankError
from qbank.family.loader import load_family
from qbank.family.model import Family
from qbank.finding import Finding, Severity
from qbank.generation import Generator
from qbank.place import Place
from qbank.vetting import (
    answers,
    cases,
    completeness,
    options,
    rules,
    sensitivity,
    slips,
    tolerances,
    wording,
)
from qbank.vetting.coverage import Coverage, coverage
from qbank.vetting.evidence import Draws, Evidence, draw, instances
from qbank.vetting.faults import read_faults
from qbank.vetting.sensitivity import Effects, effects

SAMPLE = 10_000

# Each check yields findings under the codes its docstring opens with.
ON_TEXT: tuple[Callable[[Family], Iterator[Finding]], ...] = (
    completeness.caution,
    completeness.hints,
    completeness.solution,
    completeness.unused_words,
    completeness.unused_laws,
    wording.negative_question,
    wording.several_questions,
    wording.all_of_the_above,
    wording.negative_option,
    wording.match_by_elimination,
    wording.long_stem,
)
ON_CASES: tuple[Callable[[Draws, Coverage], Iterator[Finding]], ...] = (
    cases.overlap,
    cases.gap,
    cases.boundary,
)
ON_DRAWS: tuple[Callable[[Draws], Iterator[Finding]], ...] = (
    cases.disagrees,
    rules.never_binds,
    rules.rejects_nearly_all,
    rules.redundant,
)
ON_INSTANCES: tuple[Callable[[Evidence], Iterator[Finding]], ...] = (
    cases.rare,
    answers.few_instances,
    answers.guessable,
    answers.one_word,
    answers.same_marks,
    slips.never_applies,
    slips.like_key,
    slips.like_slip,
    tolerances.too_narrow,
    tolerances.reaches_slip,
    tolerances.close_slip,
    options.odd_sign,
    options.odd_size,
    options.same_rank,
    options.mixed_figures,
    options.unequal_length,
    completeness.feedback,
)
ON_EFFECTS: tuple[Callable[[Evidence, Effects], Iterator[Finding]], ...] = (
    sensitivity.without_effect,
    sensitivity.too_sensitive,
    sensitivity.beyond_data,
)

CHECKS: tuple[Callable[..., Iterator[Finding]], ...] = (
    *ON_TEXT,
    *ON_CASES,
    *ON_DRAWS,
    *ON_INSTANCES,
    *ON_EFFECTS,
)


@dataclass(frozen=True, slots=True)
class Vetting:
    """What judging one family came to.

    findings       heaviest first, then in the order of the file
    looked_at      what was done: subject -> how, for people
    elasticities   unknown asked for -> given -> median of the relative change of the answer over
                   that of the given, for one step of its grid
    """

    family: str
    file: str
    findings: tuple[Finding, ...]
    looked_at: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    elasticities: Mapping[str, Mapping[str, float]] = field(
        default_factory=lambda: MappingProxyType({})
    )

    @property
    def clean(self) -> bool:
        """Whether nothing weighs as much as a warning."""
        return not any(finding.weighs for finding in self.findings)

    def as_json(self) -> dict[str, Any]:
        """The judgement as plain values; an elasticity that has no value is left out."""
        return {
            "family": self.family,
            "file": self.file,
            "clean": self.clean,
            "findings": [finding.as_json() for finding in self.findings],
            "looked_at": dict(self.looked_at),
            "elasticities": {
                unknown: {name: e for name, e in by_given.items() if math.isfinite(e)}
                for unknown, by_given in self.elasticities.items()
            },
        }

    def as_text(self) -> str:
        """The judgement for the terminal."""
        counts = {
            severity: sum(finding.severity is severity for finding in self.findings)
            for severity in Severity
        }
        said = ", ".join(_count(n, severity.value) for severity, n in counts.items() if n)
        lines = [f"{self.family}: {said or 'nothing to find fault with'}"]
        lines += [f"  {subject}: {how}" for subject, how in self.looked_at.items()]
        for unknown, by_given in self.elasticities.items():
            known = {name: value for name, value in by_given.items() if math.isfinite(value)}
            order = sorted(known, key=known.__getitem__, reverse=True)
            said = ", ".join(f"{name} {known[name]:.2g}" for name in order)
            lines.append(f"  1 % of a given moves {unknown} by so many percent: {said}")
        lines += [str(finding) for finding in self.findings]
        return "\n".join(lines)


def vet_file(path: str | Path, seed: int = 0, sample: int = SAMPLE) -> Vetting:
    """Judge the family in a file; what the reader of families refuses are findings as well.

    Raises FamilyError where there is no text to judge: no such file, or not plain YAML data.
    """
    try:
        family = load_family(path)
    except FamilyError:
        faults, whole = read_faults(Path(path))
        findings = [_fault("refused", error, Place(str(path), 1, 1)) for error in faults]
        looked = {} if whole else {"reading": "stopped at the last fault; more may come to light"}
        return Vetting(Path(path).stem, str(path), _sorted(findings), looked)
    vetting = vet(family, seed, sample)
    further = []
    for language in family.languages[1:]:
        try:
            load_family(path, language)
        except FamilyError as error:
            further.append(_fault("refused", error, family.place))
    return replace(vetting, findings=_sorted([*vetting.findings, *further]))


def vet(family: Family, seed: int = 0, sample: int = SAMPLE) -> Vetting:
    """Judge a family as a careful colleague would, from `sample` instances of a seed.

    Takes about a second. What can be found depends on the draws, so another seed may find a fault
    that is rare; the shares that are reported are those of the sample.
    """
    findings = [finding for check in ON_TEXT for finding in check(family)]
    looked: dict[str, str] = {}
    elasticities: dict[str, dict[str, float]] = {}

    def done() -> Vetting:
        found = _sorted(findings)
        return Vetting(family.name, family.place.file, found, looked, elasticities)

    try:
        generator = Generator(family)
    except FamilyError as error:
        findings.append(_fault("laws-unsolvable", error, family.place))
        return done()
    draws = draw(generator, seed)
    looked["rules"] = f"{len(draws):,} draws" + (", all there are" if draws.whole else "")
    if len(family.cases) > 1 or family.cases[0].when is not None:
        seen = coverage(generator, draws, seed)
        looked["cases"] = f"{seen.looked}; {seen.way}"
        findings += [finding for check in ON_CASES for finding in check(draws, seen)]
    findings += [finding for rule_check in ON_DRAWS for finding in rule_check(draws)]
    try:
        made, _ = instances(generator, seed, sample)
    except DrawError as error:
        findings.append(_fault("rules-unmeetable", error, family.place))
        return done()
    except (FamilyError, CheckFailed) as error:
        findings.append(_fault("check-fails", error, family.place))
        return done()
    evidence = Evidence(generator, made)
    looked["answers, slips and options"] = f"{len(made):,} instances of seed {seed}"
    findings += [finding for check in ON_INSTANCES for finding in check(evidence)]
    effect = effects(generator, made)
    findings += [finding for more in ON_EFFECTS for finding in more(evidence, effect)]
    for name, by_unknown in effect.of.items():
        for unknown, one in by_unknown.items():
            elasticities.setdefault(unknown, {})[name] = one.elasticity
    return done()


def _fault(code: str, error: QbankError, place: Place) -> Finding:
    """An error as a finding; `place` is taken where it names none."""
    return Finding(
        code,
        Severity.ERROR,
        error.place or place,
        error.message.partition("\n")[0],  # a table of all rules may follow
        "a family that can be read, solved and drawn",
        error.hint or "correct what stands there",
    )


def _sorted(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    def order(finding: Finding) -> tuple[int, int, int]:
        return finding.severity.rank, finding.place.line, finding.place.column

    return tuple(sorted(findings, key=order))


def _count(number: int, word: str) -> str:
    return f"{number} {word}" if number == 1 else f"{number} {word}s"
