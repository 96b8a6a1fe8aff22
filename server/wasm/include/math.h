/* Of the C library's mathematics the core calls these four alone; each is an instruction of WebAssembly. */
#ifndef METROLOGY_WASM_MATH_H
#define METROLOGY_WASM_MATH_H

#define sqrt(v)	 __builtin_sqrt(v)
#define fabs(v)	 __builtin_fabs(v)
#define floor(v) __builtin_floor(v)
#define ceil(v)	 __builtin_ceil(v)

#endif
