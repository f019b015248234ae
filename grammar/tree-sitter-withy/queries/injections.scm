; Doc comments are written in Markdown, behind the two marks and a blank.
((doc_comment) @injection.content
  (#offset! @injection.content 0 3 0 0)
  (#set! injection.language "markdown_inline"))
