"""The web door: pages and an entry API over the core; it holds no formula and no limit."""
