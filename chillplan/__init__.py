"""Plan natural and refrigerator stratification from decades of daily temperatures."""

__version__ = "0.1.0"
