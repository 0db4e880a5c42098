/** Handing a file to the user; replaceable in tests. */

/** Downloads a file. @param {File} file */
export function handDown(file) {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(file);
  link.download = file.name;
  link.click();
  // Not at once: some browsers read the address after the click has returned.
  setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
}

/**
 * By the share sheet where there is one, else as a download. "handed" is no proof that the file was kept.
 *
 * @param {File} file
 * @returns {Promise<"shared" | "handed" | "cancelled">}
 */
export async function handOver(file) {
  if (!navigator.canShare?.({ files: [file] })) {
    handDown(file);
    return "handed";
  }
  try {
    await navigator.share({ files: [file] });
    return "shared";
  } catch (error) {
    if (error instanceof DOMException && error.name === "AbortError") return "cancelled";
    handDown(file);
    return "handed";
  }
}
