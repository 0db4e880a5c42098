// The build copies fflate beside this file; this tells the type checker what it is.
export * from "fflate";
