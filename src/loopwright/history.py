"""Undo and redo: a frozen value with two stacks of named documents.

Gets documents, gives back the identical objects. Promises: no copying, a bounded depth.
"""

from __future__ import annotations

from dataclasses import dataclass

from loopwright.model.document import Document

DEPTH = 500
"""Steps kept; documents share all unchanged parts, so a step costs little."""

Step = tuple[str, Document]


@dataclass(frozen=True, slots=True, kw_only=True)
class History:
    """``past`` and ``future`` hold (label, document before or after the step), newest last."""

    past: tuple[Step, ...] = ()
    future: tuple[Step, ...] = ()

    def pushed(self, label: str, before: Document) -> History:
        """Add a step and forget the future."""
        return History(past=(*self.past, (label, before))[-DEPTH:])

    def undone(self, now: Document) -> tuple[History, str, Document] | None:
        """Step back; None at the beginning."""
        if not self.past:
            return None
        label, before = self.past[-1]
        turned = History(past=self.past[:-1], future=(*self.future, (label, now)))
        return turned, label, before

    def redone(self, now: Document) -> tuple[History, str, Document] | None:
        """Step forward; None at the end."""
        if not self.future:
            return None
        label, after = self.future[-1]
        turned = History(past=(*self.past, (label, now)), future=self.future[:-1])
        return turned, label, after
