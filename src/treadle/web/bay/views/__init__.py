"""The bay's screens: what is to be done, doing it, proving and releasing it, and looking again."""
