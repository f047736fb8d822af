"""What every page is made of: parts and their blocks, words, dials, pages to print."""
