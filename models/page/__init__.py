"""The report page: one self-contained HTML file, or the same as PDF, that says everything about one wing.

`contents` holds what is said, `views` turns the wing in three dimensions, `figures` draws, `tables` and
`inputs` set out the figures, `render` puts them into the templates, `pdf` onto paper. Libraries that draw or
typeset are imported when a page is asked for and not before.
"""
