"""Drawings that pages and papers share: one drawing each, as vectors in the PDF and as inline SVG on the page."""
