; A block is a scope; the names of declarations hold in the whole file, parameters in their declaration.
(file) @local.scope
(declaration) @local.scope

(declaration keyword: _ . (name) @local.definition)
(declaration keyword: _ . (call function: (name) @local.definition))
(parameter name: (name) @local.definition)

(name) @local.reference
