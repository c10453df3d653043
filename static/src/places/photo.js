// A photo of an entry: from this phone while it waits to be sent, else the server's.
import { html } from "htm/preact";
import { useEffect, useState } from "preact/hooks";
import { photoAddress } from "../store/index.js";

/** @param {{ sha256: string }} props */
export function Photo({ sha256 }) {
  const [address, setAddress] = useState("");
  useEffect(() => {
    let here = true;
    Promise.resolve(photoAddress(sha256)).then((found) => here && setAddress(found), () => {}); // then no picture is shown
    return () => {
      here = false;
    };
  }, [sha256]);
  return address ? html`<img class="photo-shown" src=${address} alt="Photo with this entry" />` : "on another phone or still to be sent";
}
