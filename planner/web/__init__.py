"""The local web page: the second face over the same actions."""
