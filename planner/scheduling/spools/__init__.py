"""Which spool serves which run."""
