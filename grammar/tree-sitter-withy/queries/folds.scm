[(block) (list)] @fold
(doc_comment)+ @fold
