"""`python -m nesting` is the same as the command `sheetwood`."""

from nesting.cli import main

if __name__ == "__main__":
    main()
