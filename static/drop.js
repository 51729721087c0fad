// A file that is dropped on a form with data-drop-file goes into its file field; the form works without.
for (const form of document.querySelectorAll("form[data-drop-file]")) {
  const field = form.querySelector('input[type="file"]');
  form.addEventListener("dragover", (event) => { event.preventDefault(); form.classList.add("dropping"); });
  form.addEventListener("dragleave", () => form.classList.remove("dropping"));
  form.addEventListener("drop", (event) => {
    event.preventDefault();
    form.classList.remove("dropping");
    if (event.dataTransfer.files.length === 1) {
      field.files = event.dataTransfer.files;
      form.requestSubmit();
    }
  });
}
