"""Why a server does not start: said to the person at the keyboard, in their language."""

from __future__ import annotations

from typing import Any

from treadle.words import say


class CannotServe(Exception):
    """The server cannot start as things are; `code` names the sentence and `arguments` fill it."""

    def __init__(self, code: str, **arguments: Any) -> None:
        self.code = code
        self.arguments = arguments
        super().__init__(f"{code}: {arguments}")

    def said(self, language: str) -> str:
        """Return what is wrong, where, and what to do."""
        return say(self.code, language, **self.arguments)
