"""The language of the papers: sentences from gettext catalogues, figures and days by CLDR."""
