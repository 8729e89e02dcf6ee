"""The printed documents."""
