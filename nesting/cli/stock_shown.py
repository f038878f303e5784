"""The stock list as tables for people."""

from __future__ import annotations

from nesting.cli.console import say, show_table
from nesting.wood.stock import StockList, cutting_words, stock_heads, stock_row, total_words
from vectorize.basics.spoken import Speech


def show_stock(stock: StockList, *, speech: Speech) -> None:
    """Print all that the job takes, how strips are cut, and what it costs together."""
    rows = [stock_row(line, units=speech.units) for line in stock.lines]
    if rows:
        show_table("Stock list", stock_heads(stock.currency), rows, right=(1, 2, 3, 4, 5))
    for strip in stock.strips:
        for words in cutting_words(strip, units=speech.units):
            say(words)
    if total := total_words(stock):
        say(total)
