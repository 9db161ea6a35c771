//! Pictures of a clip on their way to the disk, on a thread of their own.

use super::caption::Caption;
use super::clip::{Form, PER_SECOND};
use super::job::{Job, Standing, Watch};
use crate::handover::client::clip::film::Film;
use crate::layout::file::new_file_in;
use bevy::prelude::Image;
use crossbeam_channel::{Receiver, Sender, unbounded};
use std::collections::BTreeMap;
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use tempfile::TempDir;

/// One picture.
pub struct Shot {
    /// Its number, from 0.
    pub number: usize,
    /// Its pixels.
    pub image: Image,
    /// What stands on it.
    pub caption: Option<Caption>,
}

/// A clip that is being written. Dropped before it is done, it leaves nothing behind.
pub struct Reel {
    shots: Option<Sender<Shot>>,
    job: Job<Result<u64, String>>,
}

impl Reel {
    /// Into a file, or a folder of pictures.
    pub fn start(form: Form, size: [u32; 2], path: PathBuf) -> Self {
        let (shots, incoming) = unbounded();
        let job = Job::start("clip", move |watch| match form {
            Form::Gif => gif(&incoming, watch, size, &path),
            Form::Pictures => pictures(&incoming, watch, size, &path),
        });
        Self { shots: Some(shots), job }
    }

    /// Add a picture; they may come in any order.
    pub fn add(&self, shot: Shot) {
        if let Some(shots) = &self.shots {
            let _ = shots.send(shot);
        }
    }

    /// Pictures that wait to be written.
    pub fn waiting(&self) -> usize {
        self.shots.as_ref().map_or(0, Sender::len)
    }

    /// All pictures were added.
    pub fn close(&mut self) {
        self.shots = None;
    }

    /// Keep nothing.
    pub fn cancel(&self) {
        self.job.stop();
    }

    /// How many bytes were written, or why none were; `None` while at work.
    pub fn answer(&self) -> Option<Result<u64, String>> {
        match self.job.poll() {
            Standing::Running => None,
            Standing::Done(answer) => Some(answer),
            Standing::Broken => Some(Err("the writing thread ended".into())),
        }
    }
}

/// Pictures in the order of their numbers, captions on; each goes to `take`. False when it was cancelled.
fn each(incoming: &Receiver<Shot>, watch: &Watch, mut take: impl FnMut(usize, Vec<u8>) -> Result<(), String>) -> Result<bool, String> {
    let (mut waiting, mut next) = (BTreeMap::new(), 0);
    for shot in incoming {
        if watch.is_stopping() {
            return Ok(false);
        }
        waiting.insert(shot.number, shot);
        while let Some(shot) = waiting.remove(&next) {
            take(next, pixels(shot)?)?;
            next += 1;
        }
    }
    Ok(!watch.is_stopping())
}

fn pixels(shot: Shot) -> Result<Vec<u8>, String> {
    let mut picture = shot.image.try_into_dynamic().map_err(|e| e.to_string())?.to_rgb8();
    let size = [picture.width(), picture.height()];
    if let Some(caption) = shot.caption {
        caption.put_on(&mut picture, size)?;
    }
    Ok(picture.into_raw())
}

fn gif(incoming: &Receiver<Shot>, watch: &Watch, size: [u32; 2], path: &Path) -> Result<u64, String> {
    let mut film = None;
    let whole = each(incoming, watch, |_, rgb| {
        let rgb: Vec<[u8; 3]> = rgb.chunks_exact(3).map(|c| [c[0], c[1], c[2]]).collect();
        if film.is_none() {
            film = Some(Film::new(size.map(|s| s as usize), (100.0 / PER_SECOND).round() as u16, &rgb)?);
        }
        film.as_mut().map_or(Ok(()), |film| film.add(&rgb))
    })?;
    let Some(film) = film.filter(|_| whole) else { return Err("it was stopped".into()) };
    let bytes = film.finish()?;
    let mut file = new_file_in(folder_of(path)).map_err(|e| e.to_string())?;
    file.write_all(&bytes).map_err(|e| e.to_string())?;
    file.persist(path).map_err(|e| e.to_string())?;
    Ok(bytes.len() as u64)
}

/// Into a folder that gets its name when all of them are there.
fn pictures(incoming: &Receiver<Shot>, watch: &Watch, size: [u32; 2], path: &Path) -> Result<u64, String> {
    let folder = new_folder_in(folder_of(path)).map_err(|e| e.to_string())?;
    let mut bytes = 0;
    let whole = each(incoming, watch, |number, rgb| {
        let file = folder.path().join(format!("{:04}.png", number + 1));
        image::save_buffer(&file, &rgb, size[0], size[1], image::ExtendedColorType::Rgb8).map_err(|e| e.to_string())?;
        bytes += std::fs::metadata(&file).map_or(0, |about| about.len());
        Ok(())
    })?;
    if !whole {
        return Err("it was stopped".into());
    }
    std::fs::rename(folder.keep(), path).map_err(|e| e.to_string())?;
    Ok(bytes)
}

fn folder_of(path: &Path) -> &Path {
    path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."))
}

/// A folder that goes away by itself unless it is kept, readable by whoever may read new folders.
fn new_folder_in(folder: &Path) -> io::Result<TempDir> {
    let mut builder = tempfile::Builder::new();
    #[cfg(unix)]
    builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o777));
    builder.tempdir_in(folder)
}

#[cfg(test)]
mod tests {
    use super::*;
    use bevy::render::render_resource::TextureFormat;

    fn shot(number: usize) -> Shot {
        let mut image = Image::new_target_texture(16, 8, TextureFormat::Rgba8UnormSrgb, None);
        let shade = 40 * number as u8;
        image.data = Some([shade, shade, shade, 255].repeat(16 * 8));
        Shot { number, image, caption: None }
    }

    fn answer(reel: &Reel) -> Result<u64, String> {
        loop {
            match reel.answer() {
                Some(answer) => return answer,
                None => std::thread::sleep(std::time::Duration::from_millis(2)),
            }
        }
    }

    #[test]
    fn pictures_are_written_in_their_order() {
        let folder = tempfile::tempdir().unwrap();
        for (form, name) in [(Form::Pictures, "clip"), (Form::Gif, "clip.gif")] {
            let path = folder.path().join(name);
            let mut reel = Reel::start(form, [16, 8], path.clone());
            [1, 0, 2].into_iter().for_each(|number| reel.add(shot(number)));
            reel.close();
            assert!(answer(&reel).unwrap() > 0);
            assert!(is_as_any(&path, folder.path()), "{path:?} may be read as any file may");
            if form == Form::Pictures {
                let second = image::open(path.join("0002.png")).unwrap().to_rgb8();
                assert_eq!((second.get_pixel(3, 3).0, std::fs::read_dir(&path).unwrap().count()), ([40; 3], 3));
            } else {
                let mut frames = gif::DecodeOptions::new().read_info(std::fs::File::open(&path).unwrap()).unwrap();
                let count = std::iter::from_fn(|| frames.read_next_frame().unwrap().map(|_| ())).count();
                assert_eq!(count, 3);
            }
        }
    }

    /// The rights of a clip are those of a file or a folder made beside it in the plain way.
    fn is_as_any(clip: &Path, folder: &Path) -> bool {
        let (file, inner) = (folder.join("plain.txt"), folder.join("plain"));
        std::fs::write(&file, "").unwrap();
        std::fs::create_dir_all(&inner).unwrap();
        let rights = |path: &Path| std::fs::metadata(path).unwrap().permissions();
        rights(clip) == rights(if clip.is_dir() { &inner } else { &file })
    }

    #[test]
    fn a_cancelled_clip_leaves_nothing() {
        let folder = tempfile::tempdir().unwrap();
        for form in [Form::Gif, Form::Pictures] {
            let mut reel = Reel::start(form, [16, 8], folder.path().join("clip"));
            reel.add(shot(0));
            reel.cancel();
            reel.close();
            assert!(answer(&reel).is_err());
            assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 0);
        }
    }
}
