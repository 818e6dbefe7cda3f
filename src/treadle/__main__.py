"""`python -m treadle` is the `treadle` command."""

from treadle.cli import main

if __name__ == "__main__":
    main()
