"""Data that the package ships; read through ``setupassist.resource_files`` only."""
