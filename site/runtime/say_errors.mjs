// Node prints the source line at fault before the error, and Pyodide's lines are a million characters long.
process.on("uncaughtException", (error) => {
  process.stderr.write(`${String(error?.stack ?? error).slice(0, 4000)}\n`);
  process.exitCode = 1;
});
