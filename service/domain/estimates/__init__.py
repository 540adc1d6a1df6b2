"""The whole calculation of a quote: sizes, use, labour, prices, costs, workings."""
