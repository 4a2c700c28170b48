using System.Text;
using Hindbeat.Performances;
using Hindbeat.Rebuilding;
using Hindbeat.Sound;
using Hindbeat.Units;

namespace Hindbeat.Tests.Rebuilding;

public sealed class KitFilesTests : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("hindbeat-kit-").FullName;

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    [Fact]
    public void A_folder_of_named_files_is_a_kit()
    {
        Put("kick.wav", 0.9f, 0);
        Put("snare-1.wav", 0.1f, 100);
        Put("snare-2.wav", 0.5f, 37);
        Put("snare-2b.wav", 0.45f, 0);
        Put("tom-low-1.wav", 0.5f, 0);
        Kit kit = FolderKit.Read(_folder);
        Assert.Equal([KitPiece.Kick, KitPiece.Snare, KitPiece.TomLow], kit.Pieces.Order());
        Assert.Equal([1, 2, 2], kit.StrokesOf(KitPiece.Snare).Select(sample => sample.Layer));
        // The onset is measured, not the file's start.
        Assert.Equal(100, kit.StrokesOf(KitPiece.Snare)[0].Onset, 1.0);
    }

    [Theory]
    [InlineData("drum.wav", "names no piece")]
    [InlineData("snare-x.wav", "names no piece")]
    public void A_file_of_another_name_is_named(string name, string says)
    {
        Put(name, 0.5f, 0);
        Assert.Contains(says, Assert.Throws<InputException>(() => FolderKit.Read(_folder)).Message, StringComparison.Ordinal);
    }

    [Fact]
    public void Silence_and_an_empty_folder_are_refused()
    {
        Assert.Throws<InputException>(() => FolderKit.Read(_folder));
        Put("kick.wav", 0, 0);
        Assert.Contains("silent", Assert.Throws<InputException>(() => FolderKit.Read(_folder)).Message, StringComparison.Ordinal);
    }

    [Fact]
    public void A_SoundFonts_percussion_bank_is_a_kit()
    {
        string path = Path.Combine(_folder, "small.sf2");
        File.WriteAllBytes(path, SmallSoundFont.Make());
        Kit kit = SoundFontKit.Read(path);
        Assert.Equal([KitPiece.Kick, KitPiece.Snare], kit.Pieces.Order());
        // Two velocity ranges of the snare; the soft one is attenuated by 200 centibels = 20 dB.
        IReadOnlyList<KitSample> snare = kit.StrokesOf(KitPiece.Snare);
        Assert.Equal(2, snare.Count);
        Assert.Equal(20, snare[1].LoudnessDb - snare[0].LoudnessDb, 0.1);
        // The kick is panned hard left.
        Assert.True(kit.StrokesOf(KitPiece.Kick)[0].IsStereo);
        Assert.True(kit.StrokesOf(KitPiece.Kick)[0].RightSamples.ToArray().Max(Math.Abs) < 1e-4);
    }

    [Fact]
    public void What_is_no_SoundFont_is_refused()
    {
        string path = Path.Combine(_folder, "no.sf2");
        File.WriteAllText(path, "RIFF but nothing else that a SoundFont has");
        Assert.Throws<InputException>(() => SoundFontKit.Read(path));
        Assert.Throws<InputException>(() => SoundFontKit.Read(path + ".missing"));
    }

    private void Put(string name, float peak, int silence)
    {
        var sound = new float[4410];
        for (int i = silence; i < sound.Length; i++)
            sound[i] = peak * (float)(Math.Cos(0.1 * (i - silence)) * Math.Exp(-(i - silence) / 800.0));
        WavFile.Write(Path.Combine(_folder, name), new StereoSound(sound, [.. sound], 44100));
    }

    /// <summary>The smallest file of SoundFont Technical Specification 2.04 that holds a kick and a snare of two layers, written chunk by chunk.</summary>
    private static class SmallSoundFont
    {
        public static byte[] Make()
        {
            short[] tone = [.. Enumerable.Range(0, 2000).Select(i => (short)(20000 * Math.Cos(0.15 * i) * Math.Exp(-i / 500.0)))];
            byte[] samples = new byte[(tone.Length + 46) * 2];
            Buffer.BlockCopy(tone, 0, samples, 0, tone.Length * 2);
            byte[] info = List("INFO", Chunk("ifil", [2, 0, 4, 0]), Chunk("isng", Text("EMU8000", 8)), Chunk("INAM", Text("small", 6)));
            byte[] data = List("sdta", Chunk("smpl", samples));
            byte[] presets = Records(w =>
            {
                Preset(w, "kit", 0, 128, 0);
                Preset(w, "EOP", 0, 0, 1);
            });
            byte[] presetZones = Pairs((0, 0), (1, 0));
            byte[] presetGenerators = Pairs((41, 0), (0, 0));
            byte[] instruments = Records(w =>
            {
                w.Write(Text("drums", 20));
                w.Write((ushort)0);
                w.Write(Text("EOI", 20));
                w.Write((ushort)3);
            });
            // Generators: 43 key range, 44 velocity range, 48 attenuation, 17 pan, 58 root key, 53 sample; the range's low byte first.
            byte[] zones = Pairs((0, 0), (4, 0), (9, 0), (13, 0));
            byte[] generators = Pairs(
                (43, 36 | (36 << 8)), (17, unchecked((ushort)-500)), (58, 36), (53, 0),
                (43, 38 | (38 << 8)), (44, 0 | (63 << 8)), (48, 200), (58, 38), (53, 0),
                (43, 38 | (38 << 8)), (44, 64 | (127 << 8)), (58, 38), (53, 0),
                (0, 0));
            byte[] headers = Records(w =>
            {
                Header(w, "tone", (uint)tone.Length, 44100);
                Header(w, "EOS", 0, 0);
            });
            byte[] hydra = List("pdta",
                Chunk("phdr", presets), Chunk("pbag", presetZones), Chunk("pmod", new byte[10]), Chunk("pgen", presetGenerators),
                Chunk("inst", instruments), Chunk("ibag", zones), Chunk("imod", new byte[10]), Chunk("igen", generators), Chunk("shdr", headers));
            return Chunk("RIFF", [.. "sfbk"u8, .. info, .. data, .. hydra]);
        }

        private static void Preset(BinaryWriter w, string name, int patch, int bank, int bag)
        {
            w.Write(Text(name, 20));
            w.Write((ushort)patch);
            w.Write((ushort)bank);
            w.Write((ushort)bag);
            w.Write(new byte[12]);
        }

        private static void Header(BinaryWriter w, string name, uint end, uint rate)
        {
            w.Write(Text(name, 20));
            w.Write(0u);
            w.Write(end);
            w.Write(0u);
            w.Write(0u);
            w.Write(rate);
            w.Write((byte)60);
            w.Write((sbyte)0);
            w.Write((ushort)0);
            w.Write((ushort)(end == 0 ? 0 : 1));
        }

        private static byte[] Pairs(params (int A, int B)[] pairs) => Records(w =>
        {
            foreach ((int a, int b) in pairs)
            {
                w.Write((ushort)a);
                w.Write((ushort)b);
            }
        });

        private static byte[] Records(Action<BinaryWriter> write)
        {
            using var stream = new MemoryStream();
            using var writer = new BinaryWriter(stream);
            write(writer);
            return stream.ToArray();
        }

        private static byte[] Text(string text, int length)
        {
            var bytes = new byte[length];
            Encoding.ASCII.GetBytes(text).CopyTo(bytes, 0);
            return bytes;
        }

        private static byte[] Chunk(string id, byte[] content) =>
            [.. Encoding.ASCII.GetBytes(id), .. BitConverter.GetBytes(content.Length), .. content, .. content.Length % 2 == 1 ? new byte[1] : []];

        private static byte[] List(string kind, params byte[][] chunks) => Chunk("LIST", [.. Encoding.ASCII.GetBytes(kind), .. chunks.SelectMany(chunk => chunk)]);
    }
}
