"""The sections of a job file, and the records made from them, side by side."""
