"""The units' screens: each view checks access, reads what was asked, calls a service and renders."""
