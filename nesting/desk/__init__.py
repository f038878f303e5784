"""The desk: a page in the builder's own browser, served from this machine only.

It keeps the same job folder and calls the same public functions as the command line. `serve` starts it,
`application` is the web application by itself. Safe by default: see `nesting.desk.guard`.
"""
