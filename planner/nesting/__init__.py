"""May these pieces lie on this bed, and where?"""
