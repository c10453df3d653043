document.getElementById("app")?.append("Wayround");
