autocmd BufRead,BufNewFile *.withy setfiletype withy
