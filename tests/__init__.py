"""airtrim's tests; a package of its own, since a library in use ships another by this name."""
