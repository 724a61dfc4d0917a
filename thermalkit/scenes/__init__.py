"""Physical scenes seen by a camera model, written as site folders with their truth."""
