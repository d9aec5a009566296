"""Lets every test folder import the helpers that stand beside this file."""
