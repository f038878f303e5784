"""Which parts of a job are cut already: marked so, or read by a scale, alone or with others."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from nesting.balance.ledger import MODEL
from nesting.job.deriving import owner_of
from nesting.job.schema import JobSpec
from nesting.wood.part import Part

Copy = tuple[str, int]


def done_parts(spec: JobSpec, names: Collection[str]) -> frozenset[str]:
    """Return the parts that are cut or weighed already, by the pieces that steps made of them."""
    tables = {table.name: table for table in spec.part}
    owners = {name: owner_of(name, tables) for name in names}
    cut = {name for name, owner in owners.items() if owner is not None and tables[owner].cut}
    return read_parts(spec, names) | cut


def read_parts(spec: JobSpec, names: Collection[str]) -> frozenset[str]:
    """Return the parts that a scale has read, alone or with others, by the pieces that steps made of them."""
    tables = {table.name: table for table in spec.part}
    together = {name for reading in spec.weighed for name in reading.parts}
    owners = {name: owner_of(name, tables) for name in names}
    return frozenset(
        name
        for name, owner in owners.items()
        if MODEL in together or {name, owner} & together or (owner is not None and tables[owner].weighed is not None)
    )


def strip_copies(parts: Sequence[Part]) -> frozenset[Copy]:
    """Return the copies of the parts that are cut from strip, and so lie on no board."""
    return frozenset((part.name, n) for part in parts if part.strip is not None for n in range(1, part.copies + 1))


def placeless_copies(spec: JobSpec, parts: Sequence[Part]) -> frozenset[Copy]:
    """Return the copies that need no place on a board: cut or weighed already, or cut from strip."""
    return cut_copies(spec, parts) | strip_copies(parts)


def cut_copies(spec: JobSpec, parts: Sequence[Part]) -> frozenset[Copy]:
    """Return the copies of the parts that are cut or weighed already."""
    done = done_parts(spec, [part.name for part in parts])
    return frozenset((part.name, copy) for part in parts if part.name in done for copy in range(1, part.copies + 1))
