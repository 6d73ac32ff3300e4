"""The columns of the CSV table: names, datatypes and meaning, and their W3C description.

One row is one item; what belongs to a part is in columns numbered `part1_` and so on. Cells with
several values are joined by `|`, which the cells themselves write as `&#124;` where they are HTML
and never hold where they are not (mapping note, a7: one declared separator). Datatypes and
property names are those of the W3C Recommendations "Metadata Vocabulary for Tabular Data" and
"Model for Tabular Data" (2015), from memory.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any

from qbank.item import BankInfo

SEPARATOR = "|"
TABLE = "items.csv"
SIDECAR = "items.csv-metadata.json"
_NOTE = (
    "A text cell that would start with =, +, -, @, a tab or a carriage return, and is no number, "
    "starts with an apostrophe more, so that no spreadsheet takes it for a formula; an HTML cell "
    "starts with a character reference instead."
)


@dataclass(frozen=True, slots=True)
class Column:
    """One column; `several` cells hold values joined by the separator."""

    name: str
    datatype: str  # string, html, double, integer, boolean
    meaning: str
    several: bool = False
    required: bool = False


_ITEM = (
    Column("item_id", "string", "identifier of the item, unique in the table", required=True),
    Column("family_id", "string", "family the item was made from"),
    Column("family_version", "string", "version of that family"),
    Column("family_digest", "string", "SHA-256 of the family's content"),
    Column("seed", "integer", "seed the item was drawn with"),
    Column("index", "integer", "number of the item under that seed"),
    Column("case", "string", "case of the family the item falls in"),
    Column("pool", "string", "pool of siblings, of which a candidate gets one"),
    Column("lang", "string", "language of the item (BCP 47)", required=True),
    Column("title", "string", "title", required=True),
    Column("subject", "string", "subject, as a path"),
    Column("level", "string", "level"),
    Column("licence", "string", "licence"),
    Column("authors", "string", "authors", several=True),
    Column("objectives", "string", "learning objectives", several=True),
    Column("caution", "string", "caution to be shown with the item"),
    Column("stem_html", "html", "what is put to the candidate", required=True),
    Column("hints_html", "html", "hints, in order", several=True),
    Column("solution_html", "html", "worked solution"),
    Column("points", "double", "the most that can be scored", required=True),
)

_PART = (
    Column("id", "string", "identifier of the part"),
    Column("type", "string", "number, single, multiple, inline, order or match"),
    Column("prompt_html", "html", "what is asked"),
    Column("points", "double", "points of the part"),
    Column("unit", "string", "unit the number is wanted in"),
    Column("key", "double", "the right number, rounded as shown"),
    Column("key_shown", "string", "the right number with its unit, as people read it"),
    Column("tolerance", "string", "accepted deviation, as people say it"),
    Column("tolerance_low", "double", "least number that is right (included)"),
    Column("tolerance_high", "double", "greatest number that is right (included)"),
    Column("figures", "integer", "significant figures of the key, where rounded so"),
    Column("decimals", "integer", "decimals of the key, where rounded so"),
    Column("wrong_slips", "string", "known mistakes, by name", several=True),
    Column("wrong_values", "double", "the number each mistake leads to", several=True),
    Column("wrong_low", "double", "least number taken for that mistake", several=True),
    Column("wrong_high", "double", "greatest number taken for that mistake", several=True),
    Column("wrong_feedback_html", "html", "feedback for that mistake", several=True),
    Column(
        "option_ids",
        "string",
        "identifiers of the options, of the entries to put in order or of the sources to match",
        several=True,
    ),
    Column("options_html", "html", "the options, entries or sources", several=True),
    Column(
        "key_ids",
        "string",
        "identifiers of the right options; of the entries in the right order; of the right target "
        "of each source",
        several=True,
    ),
    Column("option_feedback_html", "html", "feedback for each option", several=True),
    Column("option_slips", "string", "the mistake each option comes from", several=True),
    Column("shuffle", "boolean", "whether the options may change places"),
    Column("target_ids", "string", "identifiers of the targets to match", several=True),
    Column("targets_html", "html", "the targets", several=True),
    Column("target_feedback_html", "html", "feedback for each target", several=True),
    Column("target_slips", "string", "the mistake each target comes from", several=True),
    Column("partial", "boolean", "whether each place or pair earns a share of the points"),
)
PART_COLUMNS = tuple(column.name for column in _PART)


def columns_for(parts: int) -> tuple[Column, ...]:
    """The columns of a table whose items have up to that many parts."""
    numbered = [
        Column(
            f"part{n}_{column.name}",
            column.datatype,
            f"part {n}: {column.meaning}",
            column.several,
        )
        for n in range(1, parts + 1)
        for column in _PART
    ]
    return (*_ITEM, *numbered)


def sidecar(info: BankInfo, columns: tuple[Column, ...]) -> str:
    """The description of the table (CSV on the Web), as JSON text."""
    described: list[dict[str, Any]] = []
    for column in columns:
        one: dict[str, Any] = {
            "name": column.name,
            "titles": column.name,
            "datatype": column.datatype,
            "dc:description": column.meaning,
            "required": column.required,
        }
        if column.several:
            one["separator"] = SEPARATOR
        described.append(one)
    document = {
        "@context": ["http://www.w3.org/ns/csvw", {"@language": "en"}],
        "url": TABLE,
        "dc:title": info.title,
        "dc:identifier": info.identifier,
        "dc:language": info.language,
        "rdfs:comment": _NOTE,
        "dialect": {
            "encoding": "utf-8",
            "delimiter": ",",
            "quoteChar": '"',
            "doubleQuote": True,
            "header": True,
            "lineTerminators": ["\r\n"],
        },
        "tableSchema": {"columns": described, "primaryKey": "item_id"},
    }
    return json.dumps(document, ensure_ascii=False, indent=1) + "\n"


def described_columns(text: str) -> tuple[Column, ...]:
    """The columns that a sidecar describes. Raises ValueError or KeyError when it does not."""
    document = json.loads(text)
    return tuple(
        Column(
            one["name"],
            one["datatype"],
            one.get("dc:description", ""),
            "separator" in one,
            bool(one.get("required")),
        )
        for one in document["tableSchema"]["columns"]
    )
