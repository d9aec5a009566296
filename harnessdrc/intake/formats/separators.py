"""Which character parts the fields of a delimited text, judged by how evenly it cuts the records.

The separator of a list cuts nearly every record into the same number of fields, the heading row too; a
comma that is a decimal sign, or a semicolon in a note, does not. Where two cut equally well the one that
is not mostly a decimal comma wins, then the one that gives more fields.
"""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from dataclasses import dataclass

__all__ = ["SEPARATORS", "Separator", "find_separator"]

SEPARATORS = {"\t": "tab", ";": "semicolon", "|": "vertical bar", ",": "comma"}
"""Candidates, and their names for the user; the first wins where all else is equal."""

_SAMPLE_CHARACTERS = 1 << 17
_SAMPLE_RECORDS = 500
_STATED = re.compile(r'"?sep=(.)"?[ \t;,]*(?:\r\n|\r|\n|$)', re.IGNORECASE)
_DECIMAL_COMMA = re.compile(r"(?<=[0-9]),(?=[0-9])")
_NEARLY = 0.85


@dataclass(frozen=True, slots=True)
class Separator:
    """What parts the fields.

    Parameters
    ----------
    character : str
        One character.
    because : str
        What decided it.
    skip : int
        Length of a first line ``sep=;``, which is no record.
    found : bool
        False where no candidate stands in the text, which then has one column.
    """

    character: str
    because: str
    skip: int = 0
    found: bool = True


@dataclass(frozen=True, slots=True)
class _Score:
    character: str
    evenness: float
    fields: int
    times: int
    records: int
    decimal: bool


def find_separator(text: str, default: str = ",") -> Separator:
    """Separator of a text.

    Parameters
    ----------
    text : str
        The whole text; its first 500 records are looked at.
    default : str
        Taken where no candidate stands in the text.
    """
    stated = _STATED.match(text)
    if stated and stated.group(1) not in '"\r\n':
        return Separator(stated.group(1), f"the first line says '{stated.group(0).strip()}'", stated.end())
    sample = text[:_SAMPLE_CHARACTERS]
    if len(text) > len(sample):
        sample = sample[: max(sample.rfind("\n"), sample.rfind("\r")) + 1] or sample
    scores = [_score(sample, character) for character in SEPARATORS if character in sample]
    scores = [score for score in scores if score.fields > 1]
    if not scores:
        return Separator(default, "no separator stands in it, so it has one column", found=False)
    best = max(score.evenness for score in scores)
    near = [score for score in scores if score.evenness >= _NEARLY * best]
    honest = [score for score in near if not score.decimal] or near
    first = max(honest, key=lambda score: (round(score.evenness, 1), score.fields))
    return Separator(
        first.character,
        f"it parts {first.times} of the first {first.records} rows into {first.fields} fields",
    )


def _score(sample: str, character: str) -> _Score:
    nothing = _Score(character, 0.0, 1, 0, 0, False)
    counts: Counter[int] = Counter()
    records = 0
    try:
        for record in csv.reader(
            io.StringIO(sample, newline=""), delimiter=character, skipinitialspace=character != " "
        ):
            if not any(field and not field.isspace() for field in record):
                continue
            records += 1
            while len(record) > 1 and not record[-1].strip():
                record.pop()
            counts[len(record)] += 1
            if records >= _SAMPLE_RECORDS:
                break
    except csv.Error:
        return nothing
    parted = {fields: times for fields, times in counts.items() if fields > 1}
    if not parted:
        return nothing
    fields, times = max(parted.items(), key=lambda item: (item[1], item[0]))
    # Half for how many records it parts at all, half for how many it parts into the usual number of fields.
    evenness = (sum(parted.values()) + times) / (2 * records)
    decimal = False
    if character == ",":
        decimals = len(_DECIMAL_COMMA.findall(sample))
        decimal = decimals >= 0.8 * sample.count(",")
    return _Score(character, evenness, fields, times, records, decimal)
