"""What stands on the page: panels are models of traits only, with their views beside them.

Nothing is imported here, so that the package stays light until a panel is opened.
"""
