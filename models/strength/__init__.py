"""Failure modes, one file each, and the margins that they leave together."""

from models.strength.margin import Margin, Margins, check, down, rounded_down, sentence

__all__ = ["Margin", "Margins", "check", "down", "rounded_down", "sentence"]
