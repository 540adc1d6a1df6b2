"""The catalogue: mouldings, boards, glazing, fillets, hardware, supplies."""
