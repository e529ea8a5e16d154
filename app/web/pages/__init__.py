"""Addresses, one module for each screen."""
