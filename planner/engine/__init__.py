"""What the engine asks for: parts, bob masses, layouts."""
