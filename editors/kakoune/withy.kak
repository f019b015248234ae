# Withy recipes in Kakoune: kinds of files, colours, comments, indentation. The language server comes by way of kak-lsp.

hook global BufCreate .*[.]withy %{
    set-option buffer filetype withy
}

hook global WinSetOption filetype=withy %{
    require-module withy
    set-option window indentwidth 2
    add-highlighter window/withy ref withy
    hook window InsertChar \n -group withy-indent withy-indent-on-new-line
    hook -once -always window WinSetOption filetype=.* %{
        remove-highlighter window/withy
        remove-hooks window withy-.+
    }
}

hook global BufSetOption filetype=withy %{
    set-option buffer comment_line '#'
}

provide-module withy %§

add-highlighter shared/withy regions
add-highlighter shared/withy/doc region '##' '$' fill documentation
add-highlighter shared/withy/comment region '#' '$' fill comment
add-highlighter shared/withy/text region '"' '(?<!\\)(?:\\\\)*("|$)' fill string
add-highlighter shared/withy/code default-region group
add-highlighter shared/withy/code/number regex '(?<!\w)[0-9][0-9_]*([.][0-9_]+)?([eE][+-]?[0-9]+)?(/[0-9]+)?' 0:value
add-highlighter shared/withy/code/operator regex '±|\+/-|[.][.]|[<>=!]=|[-+*/^=<>≤≥≠]' 0:operator

# begin words: written from the compiler's tables
add-highlighter shared/withy/code/head regex '(?:^|[{,])\h*((?:temperature_coefficient|thickness_tolerance|computed_times|mean_expansion|one_face_up_to|program_space|specific_heat|conductivity|fence_change|heated_width|least_radius|neutral_line|swing_change|resistivity|calibrated|continuous|controller|decomposes|emissivity|heat_limit|hot_factor|reposition|springback|expansion|operators|thickness|turn_over|diameter|handling|language|material|measured|softened|transfer|ambient|ceiling|channel|density|forming|preload|profile|release|surface|voltage|warm_up|accept|colour|expect|factor|heater|height|length|output|repeat|shield|spring|stored|supply|swings|switch|travel|trials|unload|alloy|clamp|depth|every|fence|fumes|hinge|input|inset|leads|limit|metal|order|place|rated|reach|reads|sheet|swing|width|wired|area|base|bend|face|film|fuse|good|grip|heat|kind|line|load|mass|rate|size|wire|arm|gap|leg|run|set))\b' 1:variable
add-highlighter shared/withy/code/reserved regex '\b(?:computed|because|within|until|else|from|none|plus|then|with|for|yes|as|at|if|no|on)\b' 0:keyword
add-highlighter shared/withy/code/function regex '\b((?:round|sqrt|abs|arc|cos|max|min|sin|tan))\(' 1:function
add-highlighter shared/withy/code/unit regex '[0-9]\h*((?:delta_degC|delta_degF|thou²|mil²|thou2|µm²|µm³|µohm|µΩ|μm²|μm³|μohm|μΩ|cmil|cm²|cm³|degC|degF|ft²|ft³|in²|in³|kohm|kΩ|mil2|mm²|mm³|mohm|mΩ|thou|um²|um³|uohm|µm2|µm3|µΩ|μm2|μm3|μΩ|AWG|GPa|MPa|cm2|cm3|deg|ft2|ft3|in2|in3|kPa|kWh|kΩ|lbf|mil|min|mm2|mm3|m²|m³|mΩ|ohm|psi|rad|um2|um3|°C|°F|µm|µs|μm|μs|℃|℉|Ω|K|MJ|Pa|Wh|cm|ft|in|kJ|kN|kV|kW|kg|lb|m2|m3|mA|mK|mN|mV|mW|mg|mm|ms|oz|um|us|Ω|%|A|J|K|N|V|W|g|h|m|s))(?!\w)' 1:type
add-highlighter shared/withy/code/declaration regex '^((?:controller|material|heater|recipe|supply|alloy|batch|bench|metal|sheet|part|wire|let|lot|use))\b\h*(\w+)?' 1:keyword 2:type
# end words

# A brace in an expression would be counted in `%{ … }`, hence the other marks.
define-command -hidden withy-indent-on-new-line %¤
    evaluate-commands -draft -itersel %¶
        try %{ execute-keys -draft <semicolon> K <a-&> }
        try %· execute-keys -draft k x <a-k> [{[(]\h*$ <ret> j <a-gt> ·
    ¶
¤

§
