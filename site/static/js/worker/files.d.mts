/** Written by the build: where the runtime's files of this very build lie, seen from the site's root. */
export const files: {
  pyodide: string;
  stdlib: string;
  app: string;
  snapshot: string;
  lock: { info: Record<string, string>; packages: Record<string, never> };
};
export function loadPyodide(options: object): Promise<any>;
