"""The verification book: one HTML file with the theory and every case of `validation`, asking for nothing
outside.

`theory` holds what is said of the mechanics, `chapters` puts the families of cases in order, `plots` and
`sketch` draw, `write` puts all of it into the template. Styles and tables are those of `models.page`.
"""
