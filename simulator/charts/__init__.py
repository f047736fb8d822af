"""The one place where figures that stand still are made: for the page and for reports; the look is in ``template``."""
