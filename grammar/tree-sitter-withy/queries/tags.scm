(declaration keyword: _ . (name) @name) @definition
(declaration keyword: _ . (call function: (name) @name)) @definition
