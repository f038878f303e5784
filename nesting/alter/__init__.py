"""Parts made from parts: doublers, the opposite hand, drilled, grown, planked, edged.

Each module holds one family of steps; a step is a frozen dataclass that turns a part into parts.
`evaluate` runs the steps of all parts in order of dependence.
"""
