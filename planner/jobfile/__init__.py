"""The files: reading, checking, writing."""
