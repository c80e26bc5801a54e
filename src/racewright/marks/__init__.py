"""Bends and a bender become marks, pointer angles and cut lengths."""
