"""Plans print jobs and filament for model airframes printed in many parts."""

__version__ = "0.1.0"
__all__ = ["__version__"]
