"""Failure modes, one file each, and the margins that they leave together."""

from models.strength.margin import Margin, Margins, check, down, first_told, rounded_down, sentence

__all__ = ["Margin", "Margins", "check", "down", "first_told", "rounded_down", "sentence"]
