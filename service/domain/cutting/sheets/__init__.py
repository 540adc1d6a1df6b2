"""Plans for sheets: guillotine layouts, their search and their bound."""
