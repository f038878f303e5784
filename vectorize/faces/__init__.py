"""The plane divided by line work into faces, and which faces make up a part."""
