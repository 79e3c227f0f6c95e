"""The version, at the bottom of everything: nobody imports the front door to ask for it."""

__version__ = "0.1.0"
