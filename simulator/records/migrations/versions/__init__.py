"""The steps from one record schema to the next; a step that was released is never changed."""
