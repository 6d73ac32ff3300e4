"""A whole family as one parametrised item: every candidate's session draws its own data.

The item is written twice: first without defaults, to draw one valid instance from it with the
project's scorer; then with that instance as the declared defaults and keys, which a delivery
system falls back on where it gives up restarting (mapping note, e).
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np

from qbank import __version__
from qbank.errors import CheckFailed
from qbank.family.model import ChooseValue, Enter, Family
from qbank.formats.content import block, inline
from qbank.formats.dialects import DIALECTS, QTI_21, Dialect
from qbank.formats.grammar import parse
from qbank.formats.item_judge import item_findings
from qbank.formats.pictures import PicturePlace
from qbank.formats.qti_markup import HINT_TITLES, MARKUP
from qbank.formats.xmltext import escape, number, quote, utf8
from qbank.generation import Generator
from qbank.instances import Floats, Instances
from qbank.item import Block, Item, Provenance
from qbank.parametrised.answers import Answer, Answers
from qbank.parametrised.expressions import InexpressibleError
from qbank.parametrised.model import ModelRules, ensure_drawable
from qbank.parametrised.parts import CASE, PartMarkup, PartWriter, by_case
from qbank.parametrised.printing import Printer, block_for
from qbank.parametrised.slips import SlipRules
from qbank.parametrised.template import Template
from qbank.parametrised.texts import Sources, Texter, block_of, inline_of, setting_words
from qbank.rendering.messages import messages_for
from qbank.scoring.faults import ScoringError
from qbank.scoring.item import ScoredItem

LEAST_ACCEPTANCE = 0.10  # of 100 tries at this rate 3 in 100,000 sessions meet no valid draw
SAMPLE = 4096  # instances that say which sizes and which slips occur
EVENED = (1.0, 0.5, 0.0)  # how far unequal shares of cases are evened out, tried in turn
_TRIALS = 60  # sessions that measure the acceptance
_FIRST_SEEDS = 20  # sessions until one is found that meets all constraints


@dataclass(frozen=True, slots=True)
class Parametrised:
    """A family as one item of one version.

    `item` is the item of one draw, for metadata; `acceptance` the share of draws that meet all
    constraints; `notes` tell what fixed items have and this has not.
    """

    identifier: str
    data: bytes
    item: Item
    acceptance: float
    notes: tuple[str, ...]


def parametrise(family: Family, dialect: Dialect | str) -> bytes:
    """The family as one parametrised item, as the bytes of its XML document.

    `dialect` is a version of QTI or its name, such as "qti-3.0". Raises InexpressibleError, which
    says why, for a family that the operators of the standard cannot say, and for one whose rules
    fewer than 10 % of the draws meet; DrawError where its rules cannot be met at all.
    """
    chosen = DIALECTS[dialect] if isinstance(dialect, str) else dialect
    return Parametriser(family).write(chosen).data


class Parametriser:
    """A family made ready; `write` gives its item in each version.

    Raises InexpressibleError for data lists, FamilyError for laws that cannot be solved.
    """

    def __init__(self, family: Family) -> None:
        ensure_drawable(family)
        self.family = family
        self._generator = Generator(family)

    @cached_property
    def _sample(self) -> Instances:
        count = min(SAMPLE, self._generator.count().number)
        return next(self._generator.generate(count))

    def write(self, dialect: Dialect) -> Parametrised:
        """The item in one version; errors as for `parametrise`."""
        drawn = self._drawn
        draft = self._draft(dialect, drawn.kept)
        defaults, keys, acceptance = drawn.defaults, drawn.keys, drawn.acceptance
        data = utf8(draft.document(defaults, keys))
        findings = item_findings(dialect, f"{self.family.name}.xml", data)
        if findings:
            raise CheckFailed(
                f"the item of {self.family.name} breaks {len(findings)} of the rules for packages",
                hint="\n    ".join(map(str, findings[:10])),
            )
        notes = []
        if self.family.figure is not None:
            notes.append("its figure is left out, as a picture file cannot change with the draw")
        if messages_for(self.family.texts.language).words.mark != ".":
            notes.append("its drawn numbers have a decimal point, which is all the standard prints")
        if self.family.equal_shares and drawn.evened < 1.0:
            notes.append(
                "its cases come in less unequal shares than the data give, but not in equal ones"
                if drawn.evened
                else "its cases come as often as the data give them, not in equal shares"
            )
        item = replace(
            draft.items[0], identifier=draft.identifier, provenance=_provenance(self.family)
        )
        return Parametrised(draft.identifier, data, item, acceptance, tuple(notes))

    @cached_property
    def _drawn(self) -> _Drawn:
        """One valid draw, from the rules, which are the same in every version."""
        for evened in EVENED if self.family.equal_shares else (0.0,):
            kept = self._kept(evened)
            draft = self._draft(QTI_21, kept)
            drawn = _drawn(draft.document({}, {}), self.family.name, kept, evened)
            if drawn.acceptance >= LEAST_ACCEPTANCE:
                return drawn
        raise InexpressibleError(
            f"only {100 * drawn.acceptance:.1f} % of its draws meet its rules; delivery systems"
            " try 100 times before they fall back on one fixed draw, so at least"
            f" {100 * LEAST_ACCEPTANCE:.0f} % are needed"
        )

    def _kept(self, evened: float) -> tuple[float, ...]:
        """The share of each case's draws to keep; a rare case keeps all of its."""
        if not evened:
            return (1.0,) * len(self.family.cases)
        rarest = self._natural_shares.min()
        return tuple(((rarest / self._natural_shares) ** evened).tolist())

    @cached_property
    def _natural_shares(self) -> Floats:
        """How often each case comes where nothing evens them, of a sample of draws."""
        natural = Generator(replace(self.family, equal_shares=False))
        count = min(SAMPLE, natural.count().number)
        cases = next(natural.generate(count)).case
        found = np.bincount(cases, minlength=len(self.family.cases))
        return np.maximum(found, 1) / count

    def _draft(self, dialect: Dialect, kept: tuple[float, ...]) -> _Draft:
        draft = _Draft(self.family, self._generator, lambda: self._sample, dialect)
        draft.compose(kept)
        return draft


def _provenance(family: Family) -> Provenance:
    """Where the item comes from; it is no instance, so its index is that of none."""
    return Provenance(family.name, family.version, family.digest, seed=0, index=-1)


@dataclass(frozen=True, slots=True)
class _Drawn:
    """The variables and keys of one valid draw, and the share of draws that are valid."""

    defaults: dict[str, Any]
    keys: dict[str, Any]
    acceptance: float
    kept: tuple[float, ...]  # of each case's draws
    evened: float  # how far the shares of the cases are evened out, 0 to 1


def _drawn(document: str, name: str, kept: tuple[float, ...], evened: float) -> _Drawn:
    """Draw with the scorer."""
    try:
        scored = ScoredItem(parse(utf8(document), name))
    except ScoringError as fault:  # bounds on depth and number of rules
        raise InexpressibleError(f"its rules are too long to be run: {fault.message}") from fault
    if scored.warnings:
        raise CheckFailed(f"the rules of {name} cannot be run: {scored.warnings[0]}")
    found: tuple[dict[str, Any], dict[str, Any]] | None = None
    tries = valid = 0
    for seed in range(_TRIALS):
        session = scored.session(seed)
        warned = bool(session.state.warnings)
        tries += session.restarts + (not warned)
        valid += not warned
        keys = {r: session.key(r) for r in scored.responses if r != "HINTREQUEST"}
        if found is None and not warned and None not in keys.values():
            found = session.templates, keys
        if found is None and seed >= _FIRST_SEEDS:
            break
    if found is None:
        raise InexpressibleError(f"none of {tries} draws meets its rules")
    return _Drawn(*found, valid / tries, kept, evened)


class _Draft:
    """One item being put together."""

    def __init__(self, family: Family, generator: Generator, sample: Any, dialect: Dialect) -> None:
        self._family = family
        self._generator = generator
        self._sample_of = sample
        self._dialect = dialect
        self._t = {name: dialect.markup(text) for name, text in MARKUP.items()}
        self.identifier = "p" + hashlib.sha256(family.digest.encode()).hexdigest()[:12]
        self._template = Template()
        self._printer = Printer(self._template)
        self.items: list[Item] = []
        self._parts: list[PartMarkup] = []

    def compose(self, kept: Sequence[float]) -> None:
        """Write the rules and the texts."""
        family, template = self._family, self._template
        model = ModelRules(template, family, self._generator.solver)
        model.write(kept)
        sample: Instances = self._sample_of()
        rules = Answers(template, family, sample)
        answers = self._answers(model, rules)
        keys = {name: answer.key for name, answer in answers.items()}
        sources = Sources(model.drawn, model.env, keys)
        self.items = Texter(family, sample, sources, template, self._printer).items()
        setting_words(family, self._printer, self._dialect)
        writer = PartWriter(
            family, self._dialect, template, self._printer, model.env, rules, answers, sample
        )
        self._parts = [
            writer.part(position, [item.parts[position] for item in self.items])
            for position in range(len(family.ask))
        ]
        self._stem = self._blocks([item.stem for item in self.items])
        self._solution = self._blocks([item.solution for item in self.items])
        self._hints = [
            by_case(self._dialect, [inline(inline_of(item.hints[n])) for item in self.items])
            for n in range(len(self.items[0].hints))
        ]

    def _answers(self, model: ModelRules, rules: Answers) -> dict[str, Answer]:
        family = self._family
        asked = {a.quantity: a for a in family.ask if isinstance(a, Enter | ChooseValue)}
        entered = {a.quantity for a in family.ask if isinstance(a, Enter)}
        slips = {name: rules.slips_of(family.find[name]) for name in asked}
        wanted = {slip for names in slips.values() for slip in names}
        writer = SlipRules(self._template, family, model.case)
        wrong = writer.write(self._generator.slips.models, model.env, wanted)
        policies = self._generator.sampler.windows.policies
        answers = {}
        for name, unknown in family.find.items():
            si = model.env[name]
            answers[name] = rules.key(unknown, si)
            if name in asked:
                values = {s: wrong[s][name] for s in slips[name] if name in wrong.get(s, {})}
                rules.bounds(unknown, si, answers[name], values, policies[name].apart)
            if name in entered:
                rules.recognised(unknown, answers[name])
        return answers

    def _blocks(self, versions: Sequence[Sequence[Block]]) -> str:
        """Blocks of each case as one run: what all begin and end with is there once."""
        place = PicturePlace(self.identifier, self._dialect.content_body)  # of no picture
        texts = [[block(b, place) for b in map(block_of, version)] for version in versions]
        first = texts[0]
        shortest = min(map(len, texts))
        head = 0
        while head < shortest and all(text[head] == first[head] for text in texts):
            head += 1
        tail = 0
        while tail < shortest - head and all(text[-1 - tail] == first[-1 - tail] for text in texts):
            tail += 1
        middles = ["".join(text[head : len(text) - tail]) for text in texts]
        middle = "".join(
            block_for(self._dialect, CASE, f"K{n}", text)
            for n, text in enumerate(middles, 1)
            if text
        )
        return "".join(first[:head]) + middle + "".join(first[len(first) - tail :])

    # ------------------------------------------------------------------------ the document

    def document(self, defaults: Mapping[str, object], keys: Mapping[str, Any]) -> str:
        """The whole document, with the defaults and keys of one draw."""
        family, t, markup = self._family, self._t, self._dialect.markup
        language, points = self.items[0].language, number(self.items[0].points)
        out = [
            '<?xml version="1.0" encoding="UTF-8"?>\n',
            markup(
                f'<assessmentItem xmlns="{self._dialect.namespace}"\n'
                ' xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance"\n'
                f' xsi:schemaLocation="{self._dialect.namespace} {self._dialect.schema}"\n'
                f' identifier="{self.identifier}" title="TITLE" xml:lang="{quote(language)}"'
                f' adaptive="{"true" if self._hints else "false"}" timeDependent="false"\n'
                f' toolName="qbank" toolVersion="{__version__}">\n'
            ).replace("TITLE", quote(family.title)),
            *[
                markup(_response(part, keys.get(f"RESPONSE_{part.identifier}")))
                for part in self._parts
            ],
            t["declare_request"] if self._hints else "",
            t["declare_total"] % (t["normal_maximum"] % points, points),
            *[markup(part.outcomes) for part in self._parts],
            t["declare_flag"] % ("SOLUTION", "single"),
            t["declare_flag"] % ("HINT", "multiple") if self._hints else "",
            markup(self._template.declarations(defaults)),
            markup(self._template.processing()),
            self._body(language),
            self._processing(),
            *self._feedback(),
            f"</{self._dialect.element('assessmentItem')}>\n",
        ]
        return self._printer.filled("".join(out), self._dialect)

    def _body(self, language: str) -> str:
        t, caution = self._t, self._family.caution
        rubric = t["caution"] % (self._dialect.rubric_use, escape(caution)) if caution else ""
        title = HINT_TITLES.get(language.partition("-")[0], HINT_TITLES["en"])
        request = t["request"] % quote(title) if self._hints else ""
        body = "".join(part.body for part in self._parts)
        return t["body"] % f'{rubric}<div class="stem">\n{self._stem}</div>\n{body}{request}'

    def _processing(self) -> str:
        total = "".join(MARKUP["score"] % part.identifier for part in self._parts)
        answered = "".join(part.rules for part in self._parts)
        answered += MARKUP["set_total"] % total + MARKUP["set_solution"]
        if not self._hints:
            return self._dialect.markup(MARKUP["answered"] % answered)
        hints = MARKUP["first_hint"]
        for n in range(2, len(self._hints) + 1):
            hints += MARKUP["next_hint"] % (f"HINT_{n}", f"HINT_{n}")
        return self._dialect.markup(MARKUP["hinted"] % (hints, answered))

    def _feedback(self) -> list[str]:
        modal = self._t["modal"]
        found = [
            modal % (f"FEEDBACK_{part.identifier}", label, f"<p>{content}</p>")
            for part in self._parts
            for label, content in part.feedback
        ]
        found += [
            modal % ("HINT", f"HINT_{n}", f"<p>{hint}</p>") for n, hint in enumerate(self._hints, 1)
        ]
        solution = f'<div class="solution">\n{self._solution}</div>'
        found.append(modal % ("SOLUTION", "WORKED", solution))
        return found


def _response(part: PartMarkup, key: Any) -> str:
    head = (
        f'<responseDeclaration identifier="RESPONSE_{part.identifier}" '
        f'cardinality="{part.cardinality}" baseType="{part.base_type}"'
    )
    if key is None:
        return head + "/>\n"
    members = key if isinstance(key, list) else [key]
    values = "".join(f"<value>{number(m) if isinstance(m, float) else m}</value>" for m in members)
    return f"{head}><correctResponse>{values}</correctResponse></responseDeclaration>\n"
