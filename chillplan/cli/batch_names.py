"""Batches by the names growers use, and a whole look at the cold in one sentence."""

from __future__ import annotations

import re
from collections.abc import Sequence

from chillplan.cli.catalogue_files import common_name
from chillplan.errors import InputError, quoted
from chillplan.journal.find import find_batch, list_batches
from chillplan.journal.records import Look
from chillplan.journal.store import Journal

__all__ = ["looks_of", "named_batch", "shown"]

FINDING_WORDS = {"ok": "fine", "good": "fine", "mold": "mould", "moldy": "mould", "mouldy": "mould"}
FINDINGS = {"fine", "dry", "mould", "sprouted", *FINDING_WORDS}


def shown(species: str) -> str:
    """``pawpaw (Asimina triloba)``; the scientific name alone where it has no other."""
    common = common_name(species)
    return f"{common} ({species})" if common else species


def named_batch(journal: Journal, text: str) -> str:
    """What a grower types for a batch as its code: number, label, or a name that fits one open batch only.

    Raises
    ------
    InputError
        If the name fits several open batches. What fits none is left for `find_batch` to refuse.
    """
    try:
        return find_batch(journal, text).code
    except InputError:
        wanted = text.strip().lower()
        fitting = [
            batch
            for batch in list_batches(journal)
            if wanted and wanted in f"{batch.species} {common_name(batch.species)} {batch.label}".lower()
        ]
    if len(fitting) > 1:
        known = ", ".join(f"{batch.code} {shown(batch.species)}" for batch in fitting)
        raise InputError(f"{quoted(text)} fits several batches: say which of {known}")
    return fitting[0].code if fitting else text


def looks_of(journal: Journal, words: Sequence[str], stage: str) -> list[Look]:
    """The looks of ``all fine except plum mould, B4 sprouted 7``.

    Parameters
    ----------
    journal : Journal
    words : sequence of str
        As typed; a name of several words may be one of them.
    stage : str
        Of the sprouts.

    Raises
    ------
    InputError
        If a part names no batch or no finding.
    """
    if len(words) == 1:
        words = words[0].split()
    tokens = [token for word in words for token in re.findall(r",|[^,]+", word) if token.strip()]
    looks: dict[str, Look] = {}
    for clause in _clauses([token.strip() for token in tokens]):
        finding, number, names = _parted(clause)
        for code in _codes(journal, names):
            looks.pop(code, None)
            looks[code] = Look(code, finding, number, stage if finding == "sprouted" else "")
    return list(looks.values())


def _clauses(tokens: Sequence[str]) -> list[list[str]]:
    clauses: list[list[str]] = [[]]
    for token in tokens:
        if token == "," or token.lower() in {"except", "but", "and"}:
            clauses.append([])
        else:
            clauses[-1].append(token)
    return [clause for clause in clauses if clause]


def _parted(clause: list[str]) -> tuple[str, int | None, list[str]]:
    """Finding, number and names of one part."""
    *rest, last = clause
    number = None
    if re.fullmatch(r"-?\d+", last) and len(rest) > 1 and rest[-1].lower() in FINDINGS:
        number, (*rest, last) = int(last), rest
    finding = FINDING_WORDS.get(last.lower(), last.lower())
    if not rest:
        raise InputError(
            f"{quoted(' '.join(clause))} does not say both which batch and what was found: write for example "
            "`chillplan batch check all fine except plum mould, B4 sprouted 7`"
        )
    return finding, number, rest


def _codes(journal: Journal, names: list[str]) -> list[str]:
    if [name.lower() for name in names] == ["all"]:
        batches = list_batches(journal)
        if not batches:
            raise InputError("no batch is open: begin one with `chillplan batch start`")
        return [batch.code for batch in batches]
    whole = named_batch(journal, " ".join(names))
    if len(names) == 1 or whole != " ".join(names):
        return [whole]
    return [named_batch(journal, name) for name in names]
