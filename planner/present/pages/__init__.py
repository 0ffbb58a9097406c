"""An answer in words, one file per step."""
