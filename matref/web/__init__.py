"""The Datasette view."""
