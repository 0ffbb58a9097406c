"""The plan weighed and checked again by another route."""
