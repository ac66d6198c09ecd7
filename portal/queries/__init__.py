"""Every SELECT, one module a noun, imported as ``find_…``; changes nothing."""
