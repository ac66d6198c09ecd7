"""The reports: each takes a period and gives parts, a picture with its table; all pages and files are made of these."""
