"""python -m leastwise.api is the command line."""

from leastwise.api.cli import main

if __name__ == "__main__":
    main()
