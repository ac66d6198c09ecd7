"""Signing up, signing in, and what a person keeps with us."""
