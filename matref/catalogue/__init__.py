"""The catalogue: compile the data package into the file, search it, convert old numbers."""
