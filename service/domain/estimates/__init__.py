"""The calculation of a quote: sizes, use, labour, prices, costs and workings."""
