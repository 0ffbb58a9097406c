"""What `start` asks, and the files that it writes."""
