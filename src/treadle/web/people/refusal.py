"""Why something about people or the shop was not done: said to whoever asked, in their language."""

from __future__ import annotations

from typing import Any

from treadle.words import say


class Refused(Exception):
    """It was not done; `code` names the sentence and `arguments` fill it."""

    def __init__(self, code: str, **arguments: Any) -> None:
        self.code = code
        self.arguments = arguments
        super().__init__(f"{code}: {arguments}")

    def said(self, language: str) -> str:
        """Return why, and what to do instead."""
        return say(self.code, language, **self.arguments)
