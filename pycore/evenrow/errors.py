"""The one exception family of Evenrow: errors are values for people.

Every error says which field it is about, what was given, what is accepted and
what to try.  The command prints them, the worker passes them as plain data
(`EvenrowError.to_dict`) and the form shows each one at its field.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from evenrow.words import tr

#: Longest piece of what was typed that an error repeats.
MAX_ECHO = 60


def echo(given: object) -> str:
    """Return `given` as short printable text, fit to be repeated in a message.

    Parameters
    ----------
    given : object
        Whatever was typed or passed.

    Returns
    -------
    str
        At most `MAX_ECHO` characters, control characters replaced by spaces.
    """
    text = given if isinstance(given, str) else repr(given)
    # Cut first: a megabyte of pasted text must not be walked character by character.
    cut = text[: MAX_ECHO + 1]
    clean = "".join(ch if ch.isprintable() else " " for ch in cut)
    return clean if len(text) <= MAX_ECHO else clean[: MAX_ECHO - 1] + "…"


class EvenrowError(Exception):
    """Base of every error that Evenrow raises on purpose.

    Parameters
    ----------
    message : str
        One plain sentence: what is wrong.
    code : str
        Short stable name of the kind of error, such as ``"out_of_range"``.
    field : str
        Dotted path of the field it is about (``"rows.0.length"``), or "".
    given : object
        What was typed or passed; kept short by `echo`.
    accepted : str
        What would be accepted here.
    hint : str
        What to try.
    """

    kind = "error"

    def __init__(
        self,
        message: str,
        *,
        code: str = "invalid",
        field: str = "",
        given: object = None,
        accepted: str = "",
        hint: str = "",
    ) -> None:
        super().__init__(message)
        self.message = message
        self.code = code
        self.field = field
        self.given = None if given is None else echo(given)
        self.accepted = accepted
        self.hint = hint

    def __str__(self) -> str:
        parts = [f"{self.field}: {self.message}" if self.field else self.message]
        if self.accepted:
            parts.append(tr("Accepted: {accepted}.", accepted=self.accepted))
        if self.hint:
            parts.append(tr("Try: {hint}.", hint=self.hint))
        return " ".join(parts)

    def to_dict(self) -> dict[str, Any]:
        """Return the error as plain data (text only), for JSON and the worker."""
        return {
            "kind": self.kind,
            "code": self.code,
            "field": self.field,
            "message": self.message,
            "given": self.given,
            "accepted": self.accepted,
            "hint": self.hint,
        }


class InputError(EvenrowError, ValueError):
    """One value cannot be used: unreadable, of the wrong kind, or out of range."""

    kind = "input"

    def at(self, field: str) -> InputError:
        """Return the same error placed at `field` (used where the path is known)."""
        return InputError(
            self.message,
            code=self.code,
            field=field,
            given=self.given,
            accepted=self.accepted,
            hint=self.hint,
        )


class InputErrors(EvenrowError, ValueError):
    """Several values cannot be used; `errors` holds one `InputError` for each."""

    kind = "input"

    def __init__(self, errors: Iterable[InputError]) -> None:
        self.errors = tuple(errors)
        super().__init__("; ".join(str(error) for error in self.errors), code="several")

    def to_dict(self) -> dict[str, Any]:
        """Return all errors as plain data."""
        return {**super().to_dict(), "errors": [e.to_dict() for e in self.errors]}


class ImpossibleError(EvenrowError):
    """The input is sound but nothing that works exists: an answer, not a fault.

    Parameters
    ----------
    message : str
        Which limit fails and by how much.
    limit : str
        Name of the limit.
    changes : iterable of str
        The nearest changes that would work.
    """

    kind = "impossible"

    def __init__(
        self, message: str, *, limit: str, field: str = "", changes: Iterable[str] = ()
    ) -> None:
        self.limit = limit
        self.changes = tuple(changes)
        super().__init__(
            message, code="impossible", field=field, hint=f"; {tr('or')} ".join(self.changes)
        )

    def to_dict(self) -> dict[str, Any]:
        """Return the limit and the changes as plain data too."""
        return {**super().to_dict(), "limit": self.limit, "changes": list(self.changes)}


class ConvergenceError(EvenrowError, ArithmeticError):
    """A solve did not reach its tolerance; the message says how far it came."""

    kind = "internal"
