"""Which shop the work at hand is for: every shop's rows are seen only inside its scope."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from uuid import UUID

_shop: ContextVar[UUID | None] = ContextVar("shop", default=None)


class NoShopInScope(RuntimeError):
    """Rows of a shop were asked for where no shop is in scope: a fault of ours, never of the person asking."""


def shop_in_scope() -> UUID:
    """Return the id of the shop in scope.

    Raises
    ------
    NoShopInScope
        No request and no `shop_scope` is around.
    """
    shop = _shop.get()
    if shop is None:
        raise NoShopInScope("no shop is in scope: wrap the work in shop_scope(shop.id), or ask across_shops")
    return shop


@contextmanager
def shop_scope(shop: UUID | None) -> Iterator[None]:
    """Work for a shop inside the block; None takes the scope away."""
    token = _shop.set(shop)
    try:
        yield
    finally:
        _shop.reset(token)
