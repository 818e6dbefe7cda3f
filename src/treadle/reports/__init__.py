"""Reports of an assessment: it goes in, and a page, a PDF, a table or a workbook comes out; nothing is judged here.

Doors, each in a module of its own so that its library loads only when that report is asked for:
`html.html_fragment`, `html.html_page`, `pdf.pdf`, `csv_out.findings_csv`, `xlsx_out.workbook`.  What they say is put
together once, in `content`; JSON needs no door, `Assessment.as_json` is the file.
"""
