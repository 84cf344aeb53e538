"""Falloff plans and diagnoses the lighting of a scene in a real room by computing it."""
