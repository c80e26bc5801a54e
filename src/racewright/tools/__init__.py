"""Bending tools: the model, the written form, the taught shoes, calibration."""
