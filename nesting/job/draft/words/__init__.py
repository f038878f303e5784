"""The tables of words, one file a language."""
