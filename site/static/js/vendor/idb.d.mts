// The build copies idb beside this file; this tells the type checker what it is.
export * from "idb";
