"""What all papers share: fonts, layout, barcodes, charts, templates, words."""
