"""The pages: addresses, forms, views, and every sentence and number on them."""
