"""Bringing owners in from a dealer's spreadsheet: bytes become a table, a table becomes owners and remarks, and those
become changes to what is known already. Nothing here reads a file or writes one.
"""
