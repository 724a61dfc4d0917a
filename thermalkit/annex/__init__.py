"""One HTML file for the client, with its JSON and CSV."""
