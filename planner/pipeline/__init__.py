"""The stages strung together: the only room that knows all of them."""
