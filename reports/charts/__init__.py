"""Rows to figures. Pure: no database, no Django.

A figure is the plain form of a plotly figure. Colours are names of our custom properties in the form ``var(--ink)``;
the page's script puts their present values in, so that one figure serves light, dark and print.
"""
