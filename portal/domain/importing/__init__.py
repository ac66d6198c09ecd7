"""Lists that come from elsewhere: tables of cells, what their columns mean, and what becomes of each row."""
