"""Prices: lists, lines, fees, discounts, tax and totals."""
