"use strict";
// Moves the water of the drawing. page.js calls profileShow(state) whenever another arrangement or combination is to be seen.
function profileShow(state) {}
