"""What weighed pieces, timed runs and failures teach: closed forms on numpy, no store, no files."""
