//! A window with nothing in it, opened as the program opens its own: the yardstick for
//! start, memory, idling and size.

struct Empty;

impl eframe::App for Empty {
    fn ui(&mut self, _ui: &mut egui::Ui, _frame: &mut eframe::Frame) {}
}

fn main() -> eframe::Result {
    let options = eframe::NativeOptions {
        viewport: egui::ViewportBuilder::default()
            .with_title("Empty")
            .with_inner_size([1280.0, 800.0]),
        ..eframe::NativeOptions::default()
    };
    eframe::run_native("Empty", options, Box::new(|_| Ok(Box::new(Empty))))
}
