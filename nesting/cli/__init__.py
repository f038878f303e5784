"""The command `sheetwood`: parse, call one public function, report."""

from nesting.cli.app import main

__all__ = ["main"]
