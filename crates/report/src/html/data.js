// The story of this page, and the balls around what it shows.

const story = unpackStory(JSON.parse(document.getElementById("data").textContent));
const ofPart = story.surfaces.map((s) => s.points);
const ofAll = [...story.surfaces, ...story.wires].map((s) => s.points);
const partBall = ballAround(ofPart);
const wholeBall = ballAround(ofAll);
