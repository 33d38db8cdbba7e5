"""`python -m airtrim.cli`."""

from airtrim.cli import main

if __name__ == "__main__":
    main()
