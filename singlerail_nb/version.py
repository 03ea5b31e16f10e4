"""The version of the package, in a place that every floor may read."""

__version__ = "0.1.0"
