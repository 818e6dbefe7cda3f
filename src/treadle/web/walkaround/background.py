"""The kinds of job this app gives the worker, which loads this module."""

from __future__ import annotations

from treadle.web.walkaround import judge

__all__ = ["judge"]
