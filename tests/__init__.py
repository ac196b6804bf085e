"""Tests; a package, so that no library that brings a folder of this name stands before it."""
