"""One folder on disk, checked once, becomes one frozen site."""
