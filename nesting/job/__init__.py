"""The job on disk: `job.toml`, its scans, rack, outlines and results.

Only this package, `nesting.cli` and `nesting.desk` read or write files.
"""
