"""Run the command line with ``python -m chillplan``."""

from chillplan.cli import main

if __name__ == "__main__":
    main()
