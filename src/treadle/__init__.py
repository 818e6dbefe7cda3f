"""Treadle: the air brakes of a fleet, measured, judged by the rules that apply, and proved."""

from importlib.metadata import version

__version__ = version("treadle")
