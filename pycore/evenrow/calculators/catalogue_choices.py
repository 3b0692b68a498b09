"""Choices that follow the catalogue in use."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Protocol, overload

from evenrow.calculators.spec import Choice


class Entry(Protocol):
    """An entry of the catalogue, such as a line or a soil."""

    @property
    def code(self) -> str:
        """Name in files."""

    @property
    def label(self) -> str:
        """Name on screen."""


class CatalogueChoices(Sequence[Choice]):
    """The entries of one kind in the catalogue, read anew whenever somebody asks.

    Parameters
    ----------
    entries : callable
        Returns the entries by code, such as `evenrow.catalogue.devices`.
    before : tuple of Choice
        Choices that stand before those of the catalogue.
    """

    def __init__(
        self, entries: Callable[[], Mapping[str, Entry]], before: tuple[Choice, ...] = ()
    ) -> None:
        self._entries = entries
        self._before = before

    def _now(self) -> tuple[Choice, ...]:
        entries = self._entries().values()
        return (*self._before, *(Choice(value=e.code, label=e.label) for e in entries))

    def __iter__(self) -> Iterator[Choice]:
        return iter(self._now())

    def __len__(self) -> int:
        return len(self._before) + len(self._entries())

    @overload
    def __getitem__(self, index: int) -> Choice: ...

    @overload
    def __getitem__(self, index: slice) -> tuple[Choice, ...]: ...

    def __getitem__(self, index: int | slice) -> Choice | tuple[Choice, ...]:
        return self._now()[index]
