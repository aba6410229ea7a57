"""One document and one way to change it.

Gets edits (pure functions), gives the current document and a notice of which fields changed.
Promises: undo puts the identical object back; a failing edit or listener leaves the document whole.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import fields
from pathlib import Path

from loopwright.history import History
from loopwright.model.document import Document

Listener = Callable[[frozenset[str]], None]
Edit = Callable[[Document], Document]
NOTED = frozenset({"found"})
"""What notes change: found again by the next search, so nobody is asked to save it."""


class Workspace:
    """The program's state. Not for use from several threads."""

    def __init__(self, document: Document, path: Path | None = None) -> None:
        self._document = document
        self._saved = document
        self._history = History()
        self._listeners: list[Listener] = []
        self.path = path

    @property
    def document(self) -> Document:
        """The current document."""
        return self._document

    @property
    def dirty(self) -> bool:
        """Tell whether there is anything to save: what a note alone changed is not."""
        return bool(changed_fields(self._saved, self._document) - NOTED)

    @property
    def undo_label(self) -> str | None:
        """Name of the step that undo would take back."""
        return self._history.past[-1][0] if self._history.past else None

    @property
    def redo_label(self) -> str | None:
        """Name of the step that redo would do again."""
        return self._history.future[-1][0] if self._history.future else None

    def apply(self, label: str, edit: Edit) -> None:
        """Make the next document; an edit that changes nothing leaves no step behind."""
        before = self._document
        after = edit(before)
        if after is before:
            return
        self._history = self._history.pushed(label, before)
        self._install(after)

    def note(self, edit: Edit) -> None:
        """Change what is derived (``NOTED``) without a step of its own."""
        self._install(edit(self._document))

    def undo(self) -> str | None:
        """Take the last step back; gives its name."""
        return self._turn(self._history.undone(self._document))

    def redo(self) -> str | None:
        """Do the step again; gives its name."""
        return self._turn(self._history.redone(self._document))

    def open(self, document: Document, path: Path | None) -> None:
        """Start afresh with another document."""
        self.path = path
        self._history = History()
        self._saved = document
        self._install(document)

    def mark_saved(self, document: Document, path: Path) -> None:
        """Remember what is on disk, which may be older than the current document."""
        self._saved = document
        self.path = path

    def subscribe(self, listener: Listener) -> Callable[[], None]:
        """Call ``listener`` with the names of changed fields after each change."""
        self._listeners.append(listener)
        return lambda: self._listeners.remove(listener)

    def _turn(self, turned: tuple[History, str, Document] | None) -> str | None:
        if turned is None:
            return None
        self._history, label, document = turned
        self._install(document)
        return label

    def _install(self, after: Document) -> None:
        before, self._document = self._document, after
        changed = changed_fields(before, after)
        if changed:
            for listener in tuple(self._listeners):
                listener(changed)


def changed_fields(before: Document, after: Document) -> frozenset[str]:
    """Names of document fields whose identity differs."""
    return frozenset(
        f.name for f in fields(Document) if getattr(before, f.name) is not getattr(after, f.name)
    )
