"""Solar drying box and print finishing estimator.

inputs → physics → planning → reports: data flows, and imports point, in that order;
`drybox.cli` is the door. Importing `drybox` loads nothing heavy.
"""

__version__ = "0.1.0"
