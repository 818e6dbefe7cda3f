"""What tests of the web door share."""

from __future__ import annotations

from web_people import browser_of, in_shop, other_shop, person, shop

__all__ = ["browser_of", "in_shop", "other_shop", "person", "shop"]
