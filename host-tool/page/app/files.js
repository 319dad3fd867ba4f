// Files of the user: opened with a picker or dropped on the page, saved as downloads. Nothing is sent anywhere.

/** Lets the user pick files. @param {string} accept @param {(file: File) => void} take */
export function pick(accept, take) {
  const input = document.createElement("input");
  input.type = "file";
  input.accept = accept;
  input.addEventListener("change", () => {
    const [file] = input.files ?? [];
    if (file) take(file);
  });
  input.click();
}

/** Saves a file where the browser keeps downloads. @param {string} name @param {string | Uint8Array} content @param {string} type */
export function save(name, content, type = "text/plain") {
  const part = /** @type {BlobPart} */ (content);
  const address = URL.createObjectURL(new Blob([part], { type }));
  const link = document.createElement("a");
  link.href = address;
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(address), 10_000);
}

/** Takes every file that is dropped anywhere on the page. @param {(file: File) => void} take */
export function listenToDrops(take) {
  const wanted = (/** @type {DragEvent} */ event) => event.dataTransfer?.types.includes("Files");
  document.addEventListener("dragover", (event) => {
    if (wanted(event)) event.preventDefault();
  });
  document.addEventListener("drop", (event) => {
    if (!wanted(event)) return;
    event.preventDefault();
    const [file] = event.dataTransfer?.files ?? [];
    if (file) take(file);
  });
}

/** "gate.toml" becomes "gate". @param {string} name */
export const stem = (name) => name.replace(/\.[^.]*$/, "");

/** Whether a file is a job rather than a log. @param {File} file */
export const isJob = (file) => file.name.toLowerCase().endsWith(".toml");
