//! A thread of the desk's own that answers what it is asked, so that no screen waits for it.

use std::sync::mpsc::{Receiver, Sender, channel};
use std::thread;

use crate::power::Wake;

/// What the desk holds of it. The thread is begun by what is asked first.
pub(super) struct Worker<Ask, Answer> {
    asks: Option<Sender<Ask>>,
    answered: Sender<Answer>,
    answers: Receiver<Answer>,
}

/// What the thread tells its answers to.
pub(super) struct Answers<Answer> {
    answered: Sender<Answer>,
    wake: Option<Wake>,
}

impl<Ask, Answer> Default for Worker<Ask, Answer> {
    fn default() -> Self {
        let (answered, answers) = channel();
        Self {
            asks: None,
            answered,
            answers,
        }
    }
}

impl<Ask: Send + 'static, Answer: Send + 'static> Worker<Ask, Answer> {
    /// Asks for something; `run` is the thread, should it not have begun.
    pub fn ask(
        &mut self,
        ask: Ask,
        wake: Option<&Wake>,
        run: impl FnOnce(&Receiver<Ask>, Answers<Answer>) + Send + 'static,
    ) {
        let asks = self.asks.get_or_insert_with(|| {
            let (asks, asked) = channel();
            let answers = Answers {
                answered: self.answered.clone(),
                wake: wake.cloned(),
            };
            thread::spawn(move || run(&asked, answers));
            asks
        });
        // A thread that has ended answers nothing; what was asked stays unanswered.
        let _ = asks.send(ask);
    }

    /// What was answered since. Cheap when nothing was.
    pub fn take(&self) -> Vec<Answer> {
        self.answers.try_iter().collect()
    }

    /// Whatever it is still busy with is nobody's any more.
    pub fn let_go(&mut self) {
        self.asks = None;
    }
}

impl<Answer> Answers<Answer> {
    pub fn tell(&self, answer: Answer) {
        // Where the desk is gone, nobody asks any more.
        let _ = self.answered.send(answer);
        if let Some(wake) = &self.wake {
            wake();
        }
    }
}
