// What the page takes from npm; see DEVELOPERS.md for how library.js is made from this.
export { Camera, Geometry, Mesh, Program, Renderer, Transform, Vec3 } from "ogl";
export { unzlibSync } from "fflate";
