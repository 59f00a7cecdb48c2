// A photo made anew on the phone: smaller, upright, without the place and the camera in the file.

const LONGEST = 1600;

/** A photo as a fresh JPEG; the file itself where the browser cannot redraw it. */
export async function shrunk(file) {
  try {
    const image = await createImageBitmap(file, { imageOrientation: "from-image" });
    const scale = Math.min(1, LONGEST / Math.max(image.width, image.height));
    const canvas = document.createElement("canvas");
    canvas.width = Math.round(image.width * scale);
    canvas.height = Math.round(image.height * scale);
    canvas.getContext("2d").drawImage(image, 0, 0, canvas.width, canvas.height);
    return await new Promise((done, failed) => canvas.toBlob((blob) => (blob ? done(blob) : failed(new Error("no picture"))), "image/jpeg", 0.82));
  } catch {
    return file;
  }
}
