"""A whole bank checked: one verdict a key, from the strongest level, and nothing passed over."""

from __future__ import annotations

import csv
import json
import random
import shutil
from dataclasses import replace
from pathlib import Path

import pytest

import qbank
from qbank.audit.check import check_bank
from qbank.audit.verdict import Audit, Judgement, Level, Verdict
from qbank.errors import QbankError
from qbank.finding import Severity
from qbank.item import BankInfo, Item, NumberEntry, Pool

FOREIGN = """\
<assessmentItem xmlns="http://www.imsglobal.org/xsd/imsqti_v2p1" identifier="q{k}" title="Lens {k}"
 adaptive="false" timeDependent="false">
<responseDeclaration identifier="A" cardinality="single" baseType="float">
<correctResponse><value>{key}</value></correctResponse></responseDeclaration>
<outcomeDeclaration identifier="SCORE" cardinality="single" baseType="float" normalMaximum="1"/>
<itemBody><p>A candle of height {h} mm burns {d} cm in front of a converging lens of focal length
{f} cm. Find the distance of the image from the lens in cm:
<textEntryInteraction responseIdentifier="A"/></p></itemBody>
<responseProcessing><responseCondition><responseIf>
<equal toleranceMode="absolute" tolerance="{width}"><correct identifier="A"/>
<variable identifier="A"/></equal>
<setOutcomeValue identifier="SCORE"><baseValue baseType="float">{points}</baseValue>
</setOutcomeValue>
</responseIf></responseCondition></responseProcessing></assessmentItem>
"""


def lenses(folder: Path, *, swapped: int | None = None, points: str = "1") -> Path:
    """A folder of items that somebody else might have written; one key has two digits swapped."""
    folder.mkdir()
    draw = random.Random(4)
    for k in range(14):
        f, d = draw.randint(8, 20), draw.randint(25, 60)
        key = f"{1 / (1 / f - 1 / d):.1f}"
        if k == swapped:
            key = key[1] + key[0] + key[2:]
        text = FOREIGN.format(
            k=k, f=f, d=d, h=draw.randint(10, 40), key=key, width="0.2 0.2", points=points
        )
        (folder / f"q{k}.xml").write_text(text, encoding="utf-8")
    return folder


def of_item(audit: Audit, item: str) -> list[Judgement]:
    return [judgement for judgement in audit.judgements if judgement.item == item]


def rewritten(folder: Path, items: list[Item], name: str = "qti-3.0") -> Path:
    info = BankInfo("bank", "bank", "en", (Pool("pool", "pool", len(items), 6),))
    return qbank.write_bank(info, items, folder / f"bank-{name}", name, unpacked=True).path


def items_of(family: str, count: int) -> list[Item]:
    loaded = qbank.load_family(qbank.find_family(family))
    (instances,) = qbank.generate(loaded, count, seed=11)
    return list(qbank.Renderer(loaded).items(instances))


def with_key(item: Item, number: int, factor: float) -> Item:
    """The item with another key, and its band moved with it."""
    part = item.parts[number]
    assert isinstance(part, NumberEntry)
    key = float(f"{part.key * factor:.3g}")
    band = replace(part.tolerance, low=key * 0.99, high=key * 1.01)
    wrong = replace(
        part, key=key, key_text=f"{key:#.3g}", key_shown=f"{key:#.3g}", tolerance=band,
        wrong_values=(),
    )  # fmt: skip
    return replace(item, parts=(*item.parts[:number], wrong, *item.parts[number + 1 :]))


def test_a_clean_bank_of_others_gives_no_finding(tmp_path: Path) -> None:
    audit = check_bank(lenses(tmp_path / "bank"), families=["thin-lens"])
    assert audit.items == 14
    assert {judgement.verdict for judgement in audit.judgements} == {Verdict.RIGHT}
    assert {judgement.level for judgement in audit.judgements} == {Level.MATCHED}
    (assignment,) = audit.assignments
    assert (assignment.family, assignment.unknown) == ("thin-lens", "d_i")
    assert "thin-lens" in audit.binding


def test_a_wrong_key_of_others_is_found_with_its_cause(tmp_path: Path) -> None:
    audit = check_bank(lenses(tmp_path / "bank", swapped=9), families=["thin-lens"])
    (wrong,) = [judgement for judgement in audit.judgements if judgement.accuses]
    assert (wrong.item, wrong.verdict, wrong.level) == ("q9", Verdict.WRONG, Level.MATCHED)
    assert wrong.code == "digits-swapped"
    assert wrong.proved
    assert [question.item for question in audit.accused] == ["q9"]


def test_what_matching_found_is_level_two_the_next_time(tmp_path: Path) -> None:
    bank = lenses(tmp_path / "bank", swapped=9)
    first = check_bank(bank, families=["thin-lens"])
    binding = tmp_path / "binding.yaml"
    binding.write_text(first.binding, encoding="utf-8")
    again = check_bank(bank, families=["thin-lens"], bindings=binding)
    assert {judgement.level for judgement in again.judgements} == {Level.BOUND}
    told = [(j.item, j.verdict, j.code) for j in first.judgements]
    assert [(j.item, j.verdict, j.code) for j in again.judgements] == told


def test_without_a_family_the_odd_one_out_is_a_suspicion(tmp_path: Path) -> None:
    audit = check_bank(lenses(tmp_path / "bank", swapped=9), families=["stepped-drum"])
    (odd,) = [judgement for judgement in audit.judgements if judgement.accuses]
    assert (odd.item, odd.verdict, odd.level) == ("q9", Verdict.SUSPECT, Level.OUTLIER)
    assert not odd.proved
    others = [judgement for judgement in audit.judgements if judgement is not odd]
    assert {judgement.verdict for judgement in others} == {Verdict.UNCHECKED}
    assert all(judgement.how for judgement in others)


def test_rules_that_never_give_the_maximum_are_seen(tmp_path: Path) -> None:
    audit = check_bank(lenses(tmp_path / "bank", points="0.5"), families=["thin-lens"])
    codes = {judgement.code for judgement in of_item(audit, "q0")}
    assert "score-unreachable" in codes


def test_a_key_of_ours_is_derived_again(tmp_path: Path) -> None:
    items = items_of("stepped-drum", 6)
    items[2] = with_key(items[2], 1, 2.0)
    audit = check_bank(rewritten(tmp_path, items))
    (wrong,) = [judgement for judgement in audit.judgements if judgement.accuses]
    assert (wrong.number, wrong.level, wrong.confidence) == (2, Level.SAME_FAMILY, 1.0)
    assert wrong.value == pytest.approx(float(wrong.expected.split()[0]), rel=0.005)
    assert len(audit.judgements) == sum(len(item.parts) for item in items)


def test_the_order_of_items_changes_no_verdict(tmp_path: Path) -> None:
    bank = lenses(tmp_path / "bank", swapped=3)
    table = tmp_path / "bank.csv"
    with table.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(["id", "question", "answer", "unit"])
        rows = []
        for path in sorted(bank.iterdir()):
            text = path.read_text(encoding="utf-8")
            stem = text.split("<p>")[1].split("<textEntry")[0].replace("\n", " ")
            key = text.split("<value>")[1].split("<")[0]
            rows.append([path.stem, stem, key, "cm"])
        writer.writerows(rows)
    told = {
        j.item: (j.verdict, j.code) for j in check_bank(table, families=["thin-lens"]).judgements
    }
    random.Random(1).shuffle(rows)
    with table.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows([["id", "question", "answer", "unit"], *rows])
    audit = check_bank(table, families=["thin-lens"])
    assert {j.item: (j.verdict, j.code) for j in audit.judgements} == told
    assert told["q3"][0] is Verdict.WRONG


def test_a_broken_item_leaves_the_others_checked_and_the_bank_as_it_was(tmp_path: Path) -> None:
    bank = lenses(tmp_path / "bank", swapped=9)
    (bank / "q7.xml").write_text("<assessmentItem><itemBody>", encoding="utf-8")
    (bank / "q8.xml").write_text(
        '<!DOCTYPE a [<!ENTITY b SYSTEM "file:///etc/passwd">]><a>&b;</a>', encoding="utf-8"
    )
    before = {path.name: path.read_bytes() for path in bank.iterdir()}
    audit = check_bank(bank, families=["thin-lens"])
    assert audit.items == 12
    assert [j.item for j in audit.judgements if j.accuses] == ["q9"]
    assert any("q7.xml" in loss for loss in audit.losses)
    assert any("q8.xml" in loss for loss in audit.losses)
    assert {path.name: path.read_bytes() for path in bank.iterdir()} == before


def test_what_cannot_be_read_at_all_is_an_error(tmp_path: Path) -> None:
    with pytest.raises(QbankError, match="there is no file"):
        check_bank(tmp_path / "nothing.zip")
    (tmp_path / "torn.zip").write_bytes(b"\x00\x01zip")
    with pytest.raises(QbankError, match="is no zip file") as caught:
        check_bank(tmp_path / "torn.zip")
    assert caught.value.hint
    (tmp_path / "empty").mkdir()
    with pytest.raises(QbankError, match="holds no document"):
        check_bank(tmp_path / "empty")


def test_progress_ends_at_the_number_of_questions(tmp_path: Path) -> None:
    seen: list[tuple[int, int]] = []
    check_bank(
        lenses(tmp_path / "bank"), families=["thin-lens"], progress=lambda *at: seen.append(at)
    )
    assert seen[-1] == (14, 14)
    assert [done for done, _ in seen] == sorted(done for done, _ in seen)


def test_an_audit_is_plain_values_in_json(tmp_path: Path) -> None:
    from qbank.audit.report import as_json

    audit = check_bank(lenses(tmp_path / "bank", swapped=9), families=["thin-lens"])
    assert json.loads(json.dumps(as_json(audit), allow_nan=False))
    shutil.rmtree(tmp_path / "bank")


def test_a_right_key_is_not_accused_for_a_twin_with_another(tmp_path: Path) -> None:
    folder = lenses(tmp_path / "bank")
    text = (folder / "q3.xml").read_text("utf-8").replace('identifier="q3"', 'identifier="twin"')
    key = text.partition("<value>")[2].partition("</value>")[0]
    (folder / "twin.xml").write_text(text.replace(f">{key}<", f">{float(key) + 7:.1f}<"), "utf-8")
    audit = check_bank(folder)
    twins = {j.item: j for j in audit.judgements if j.code == "same-text-other-key"}
    assert (twins["q3"].verdict, twins["q3"].severity) == (Verdict.REMARK, Severity.NOTE)
    assert twins["twin"].verdict is Verdict.DEFECT
    assert {j.item for j in audit.judgements if j.accuses} == {"twin"}
