

; Function Attrs: nofree norecurse nosync nounwind memory(argmem: readwrite)
define internal fastcc void @inside_line_ends(ptr noalias nonnull writeonly %retptr, ptr readonly %arg.b, i64 %arg.size, ptr writeonly %arg.ends) unnamed_addr #0 {
B0:
  %.23 = icmp sgt i64 %arg.size, 0
  br i1 %.23, label %B24.preheader, label %B408

B24.preheader:                                    ; preds = %B0
  %0 = add nsw i64 %arg.size, -1
  %1 = lshr i64 %0, 6
  %2 = add nuw nsw i64 %1, 1
  %xtraiter = and i64 %2, 3
  %3 = icmp ult i64 %arg.size, 193
  br i1 %3, label %B24.epil.preheader, label %B24.preheader.new

B24.preheader.new:                                ; preds = %B24.preheader
  %unroll_iter = and i64 %2, 576460752303423484
  br label %B24

B24:                                              ; preds = %B386.3, %B24.preheader.new
  %n.3.0 = phi i64 [ 0, %B24.preheader.new ], [ %n.4.2.3, %B386.3 ]
  %at.2.0 = phi i64 [ 0, %B24.preheader.new ], [ %.45.3, %B386.3 ]
  %niter = phi i64 [ 0, %B24.preheader.new ], [ %niter.next.3, %B386.3 ]
  %.32 = getelementptr inbounds nuw i8, ptr %arg.b, i64 %at.2.0
  %.34 = load <64 x i8>, ptr %.32, align 1
  %.35 = icmp eq <64 x i8> %.34, splat (i8 10)
  %.36 = bitcast <64 x i1> %.35 to i64
  %.45 = or disjoint i64 %at.2.0, 64
  %.47 = icmp slt i64 %arg.size, %.45
  %.51 = sub nsw i64 %arg.size, %at.2.0
  %notmask = shl nsw i64 -1, %.51
  %.53 = xor i64 %notmask, -1
  %.55 = select i1 %.47, i64 %.53, i64 -1
  %found.3.1 = and i64 %.55, %.36
  %4 = tail call range(i64 0, 65) i64 @llvm.ctpop.i64(i64 %found.3.1)
  %5 = add i64 %4, %n.3.0
  %6 = icmp eq i64 %found.3.1, 0
  br i1 %6, label %B386, label %B218.preheader

B218.preheader:                                   ; preds = %B24
  %7 = add nuw nsw i64 %4, 1
  %8 = shl i64 %n.3.0, 3
  %scevgep7 = getelementptr i8, ptr %arg.ends, i64 %8
  br label %B218

B218:                                             ; preds = %B218, %B218.preheader
  %lsr.iv8 = phi ptr [ %scevgep7, %B218.preheader ], [ %scevgep9, %B218 ]
  %lsr.iv5 = phi i64 [ %7, %B218.preheader ], [ %lsr.iv.next6, %B218 ]
  %found.4.1 = phi i64 [ %found.3.1, %B218.preheader ], [ %.99, %B218 ]
  %.83 = tail call range(i64 0, 65) i64 @llvm.cttz.i64(i64 %found.4.1, i1 true)
  %.85 = or disjoint i64 %.83, %at.2.0
  store i64 %.85, ptr %lsr.iv8, align 8
  %.97 = add i64 %found.4.1, -1
  %.99 = and i64 %.97, %found.4.1
  %lsr.iv.next6 = add nsw i64 %lsr.iv5, -1
  %scevgep9 = getelementptr i8, ptr %lsr.iv8, i64 8
  %.102.not = icmp slt i64 %lsr.iv5, 3
  br i1 %.102.not, label %B386, label %B218

B386:                                             ; preds = %B218, %B24
  %n.4.2 = phi i64 [ %n.3.0, %B24 ], [ %5, %B218 ]
  %.32.1 = getelementptr inbounds nuw i8, ptr %arg.b, i64 %.45
  %.34.1 = load <64 x i8>, ptr %.32.1, align 1
  %.35.1 = icmp eq <64 x i8> %.34.1, splat (i8 10)
  %.36.1 = bitcast <64 x i1> %.35.1 to i64
  %.45.1 = or disjoint i64 %at.2.0, 128
  %.47.1 = icmp slt i64 %arg.size, %.45.1
  %.51.1 = sub nsw i64 %arg.size, %.45
  %notmask.1 = shl nsw i64 -1, %.51.1
  %.53.1 = xor i64 %notmask.1, -1
  %.55.1 = select i1 %.47.1, i64 %.53.1, i64 -1
  %found.3.1.1 = and i64 %.55.1, %.36.1
  %9 = tail call range(i64 0, 65) i64 @llvm.ctpop.i64(i64 %found.3.1.1)
  %10 = add i64 %9, %n.4.2
  %11 = icmp eq i64 %found.3.1.1, 0
  br i1 %11, label %B386.1, label %B218.1.preheader

B218.1.preheader:                                 ; preds = %B386
  %12 = add nuw nsw i64 %9, 1
  %13 = shl i64 %n.4.2, 3
  %scevgep12 = getelementptr i8, ptr %arg.ends, i64 %13
  br label %B218.1

B218.1:                                           ; preds = %B218.1, %B218.1.preheader
  %lsr.iv13 = phi ptr [ %scevgep12, %B218.1.preheader ], [ %scevgep14, %B218.1 ]
  %lsr.iv10 = phi i64 [ %12, %B218.1.preheader ], [ %lsr.iv.next11, %B218.1 ]
  %found.4.1.1 = phi i64 [ %found.3.1.1, %B218.1.preheader ], [ %.99.1, %B218.1 ]
  %.83.1 = tail call range(i64 0, 65) i64 @llvm.cttz.i64(i64 %found.4.1.1, i1 true)
  %.85.1 = or disjoint i64 %.83.1, %.45
  store i64 %.85.1, ptr %lsr.iv13, align 8
  %.97.1 = add i64 %found.4.1.1, -1
  %.99.1 = and i64 %.97.1, %found.4.1.1
  %lsr.iv.next11 = add nsw i64 %lsr.iv10, -1
  %scevgep14 = getelementptr i8, ptr %lsr.iv13, i64 8
  %.102.not.1 = icmp slt i64 %lsr.iv10, 3
  br i1 %.102.not.1, label %B386.1, label %B218.1

B386.1:                                           ; preds = %B218.1, %B386
  %n.4.2.1 = phi i64 [ %n.4.2, %B386 ], [ %10, %B218.1 ]
  %.32.2 = getelementptr inbounds nuw i8, ptr %arg.b, i64 %.45.1
  %.34.2 = load <64 x i8>, ptr %.32.2, align 1
  %.35.2 = icmp eq <64 x i8> %.34.2, splat (i8 10)
  %.36.2 = bitcast <64 x i1> %.35.2 to i64
  %.45.2 = or disjoint i64 %at.2.0, 192
  %.47.2 = icmp slt i64 %arg.size, %.45.2
  %.51.2 = sub nsw i64 %arg.size, %.45.1
  %notmask.2 = shl nsw i64 -1, %.51.2
  %.53.2 = xor i64 %notmask.2, -1
  %.55.2 = select i1 %.47.2, i64 %.53.2, i64 -1
  %found.3.1.2 = and i64 %.55.2, %.36.2
  %14 = tail call range(i64 0, 65) i64 @llvm.ctpop.i64(i64 %found.3.1.2)
  %15 = add i64 %14, %n.4.2.1
  %16 = icmp eq i64 %found.3.1.2, 0
  br i1 %16, label %B386.2, label %B218.2.preheader

B218.2.preheader:                                 ; preds = %B386.1
  %17 = add nuw nsw i64 %14, 1
  %18 = shl i64 %n.4.2.1, 3
  %scevgep17 = getelementptr i8, ptr %arg.ends, i64 %18
  br label %B218.2

B218.2:                                           ; preds = %B218.2, %B218.2.preheader
  %lsr.iv18 = phi ptr [ %scevgep17, %B218.2.preheader ], [ %scevgep19, %B218.2 ]
  %lsr.iv15 = phi i64 [ %17, %B218.2.preheader ], [ %lsr.iv.next16, %B218.2 ]
  %found.4.1.2 = phi i64 [ %found.3.1.2, %B218.2.preheader ], [ %.99.2, %B218.2 ]
  %.83.2 = tail call range(i64 0, 65) i64 @llvm.cttz.i64(i64 %found.4.1.2, i1 true)
  %.85.2 = or disjoint i64 %.83.2, %.45.1
  store i64 %.85.2, ptr %lsr.iv18, align 8
  %.97.2 = add i64 %found.4.1.2, -1
  %.99.2 = and i64 %.97.2, %found.4.1.2
  %lsr.iv.next16 = add nsw i64 %lsr.iv15, -1
  %scevgep19 = getelementptr i8, ptr %lsr.iv18, i64 8
  %.102.not.2 = icmp slt i64 %lsr.iv15, 3
  br i1 %.102.not.2, label %B386.2, label %B218.2

B386.2:                                           ; preds = %B218.2, %B386.1
  %n.4.2.2 = phi i64 [ %n.4.2.1, %B386.1 ], [ %15, %B218.2 ]
  %.32.3 = getelementptr inbounds nuw i8, ptr %arg.b, i64 %.45.2
  %.34.3 = load <64 x i8>, ptr %.32.3, align 1
  %.35.3 = icmp eq <64 x i8> %.34.3, splat (i8 10)
  %.36.3 = bitcast <64 x i1> %.35.3 to i64
  %.45.3 = add nuw nsw i64 %at.2.0, 256
  %.47.3 = icmp sgt i64 %.45.3, %arg.size
  %.51.3 = sub nsw i64 %arg.size, %.45.2
  %notmask.3 = shl nsw i64 -1, %.51.3
  %.53.3 = xor i64 %notmask.3, -1
  %.55.3 = select i1 %.47.3, i64 %.53.3, i64 -1
  %found.3.1.3 = and i64 %.55.3, %.36.3
  %19 = tail call range(i64 0, 65) i64 @llvm.ctpop.i64(i64 %found.3.1.3)
  %20 = add i64 %19, %n.4.2.2
  %21 = icmp eq i64 %found.3.1.3, 0
  br i1 %21, label %B386.3, label %B218.3.preheader

B218.3.preheader:                                 ; preds = %B386.2
  %22 = add nuw nsw i64 %19, 1
  %23 = shl i64 %n.4.2.2, 3
  %scevgep22 = getelementptr i8, ptr %arg.ends, i64 %23
  br label %B218.3

B218.3:                                           ; preds = %B218.3, %B218.3.preheader
  %lsr.iv23 = phi ptr [ %scevgep22, %B218.3.preheader ], [ %scevgep24, %B218.3 ]
  %lsr.iv20 = phi i64 [ %22, %B218.3.preheader ], [ %lsr.iv.next21, %B218.3 ]
  %found.4.1.3 = phi i64 [ %found.3.1.3, %B218.3.preheader ], [ %.99.3, %B218.3 ]
  %.83.3 = tail call range(i64 0, 65) i64 @llvm.cttz.i64(i64 %found.4.1.3, i1 true)
  %.85.3 = or disjoint i64 %.83.3, %.45.2
  store i64 %.85.3, ptr %lsr.iv23, align 8
  %.97.3 = add i64 %found.4.1.3, -1
  %.99.3 = and i64 %.97.3, %found.4.1.3
  %lsr.iv.next21 = add nsw i64 %lsr.iv20, -1
  %scevgep24 = getelementptr i8, ptr %lsr.iv23, i64 8
  %.102.not.3 = icmp slt i64 %lsr.iv20, 3
  br i1 %.102.not.3, label %B386.3, label %B218.3

B386.3:                                           ; preds = %B218.3, %B386.2
  %n.4.2.3 = phi i64 [ %n.4.2.2, %B386.2 ], [ %20, %B218.3 ]
  %niter.next.3 = add nuw nsw i64 %niter, 4
  %niter.ncmp.3.not = icmp eq i64 %niter.next.3, %unroll_iter
  br i1 %niter.ncmp.3.not, label %B408.loopexit.unr-lcssa, label %B24

B408.loopexit.unr-lcssa:                          ; preds = %B386.3
  %lcmp.mod.not = icmp eq i64 %xtraiter, 0
  br i1 %lcmp.mod.not, label %B408, label %B24.epil.preheader

B24.epil.preheader:                               ; preds = %B408.loopexit.unr-lcssa, %B24.preheader
  %n.3.0.epil.ph = phi i64 [ %n.4.2.3, %B408.loopexit.unr-lcssa ], [ 0, %B24.preheader ]
  %at.2.0.epil.ph = phi i64 [ %.45.3, %B408.loopexit.unr-lcssa ], [ 0, %B24.preheader ]
  br label %B24.epil

B24.epil:                                         ; preds = %B24.epil.preheader, %B386.epil
  %n.3.0.epil = phi i64 [ %n.4.2.epil, %B386.epil ], [ %n.3.0.epil.ph, %B24.epil.preheader ]
  %at.2.0.epil = phi i64 [ %.45.epil, %B386.epil ], [ %at.2.0.epil.ph, %B24.epil.preheader ]
  %epil.iter = phi i64 [ %epil.iter.next, %B386.epil ], [ 0, %B24.epil.preheader ]
  %.32.epil = getelementptr inbounds nuw i8, ptr %arg.b, i64 %at.2.0.epil
  %.34.epil = load <64 x i8>, ptr %.32.epil, align 1
  %.35.epil = icmp eq <64 x i8> %.34.epil, splat (i8 10)
  %.36.epil = bitcast <64 x i1> %.35.epil to i64
  %.45.epil = add nuw nsw i64 %at.2.0.epil, 64
  %.47.epil = icmp sgt i64 %.45.epil, %arg.size
  %.51.epil = sub nsw i64 %arg.size, %at.2.0.epil
  %notmask.epil = shl nsw i64 -1, %.51.epil
  %.53.epil = xor i64 %notmask.epil, -1
  %.55.epil = select i1 %.47.epil, i64 %.53.epil, i64 -1
  %found.3.1.epil = and i64 %.55.epil, %.36.epil
  %24 = tail call range(i64 0, 65) i64 @llvm.ctpop.i64(i64 %found.3.1.epil)
  %25 = add i64 %24, %n.3.0.epil
  %26 = icmp eq i64 %found.3.1.epil, 0
  br i1 %26, label %B386.epil, label %B218.epil.preheader

B218.epil.preheader:                              ; preds = %B24.epil
  %27 = add nuw nsw i64 %24, 1
  %28 = shl i64 %n.3.0.epil, 3
  %scevgep = getelementptr i8, ptr %arg.ends, i64 %28
  br label %B218.epil

B218.epil:                                        ; preds = %B218.epil, %B218.epil.preheader
  %lsr.iv3 = phi ptr [ %scevgep, %B218.epil.preheader ], [ %scevgep4, %B218.epil ]
  %lsr.iv = phi i64 [ %27, %B218.epil.preheader ], [ %lsr.iv.next, %B218.epil ]
  %found.4.1.epil = phi i64 [ %found.3.1.epil, %B218.epil.preheader ], [ %.99.epil, %B218.epil ]
  %.83.epil = tail call range(i64 0, 65) i64 @llvm.cttz.i64(i64 %found.4.1.epil, i1 true)
  %.85.epil = or disjoint i64 %.83.epil, %at.2.0.epil
  store i64 %.85.epil, ptr %lsr.iv3, align 8
  %.97.epil = add i64 %found.4.1.epil, -1
  %.99.epil = and i64 %.97.epil, %found.4.1.epil
  %lsr.iv.next = add nsw i64 %lsr.iv, -1
  %scevgep4 = getelementptr i8, ptr %lsr.iv3, i64 8
  %.102.not.epil = icmp slt i64 %lsr.iv, 3
  br i1 %.102.not.epil, label %B386.epil, label %B218.epil

B386.epil:                                        ; preds = %B218.epil, %B24.epil
  %n.4.2.epil = phi i64 [ %n.3.0.epil, %B24.epil ], [ %25, %B218.epil ]
  %epil.iter.next = add i64 %epil.iter, 1
  %epil.iter.cmp.not = icmp eq i64 %epil.iter.next, %xtraiter
  br i1 %epil.iter.cmp.not, label %B408, label %B24.epil, !llvm.loop !0

B408:                                             ; preds = %B386.epil, %B408.loopexit.unr-lcssa, %B0
  %n.5.1 = phi i64 [ 0, %B0 ], [ %n.4.2.3, %B408.loopexit.unr-lcssa ], [ %n.4.2.epil, %B386.epil ]
  store i64 %n.5.1, ptr %retptr, align 8
  ret void
}

; Function Attrs: mustprogress nocallback nofree nosync nounwind speculatable willreturn memory(none)
declare i64 @llvm.ctpop.i64(i64) #1

; Function Attrs: mustprogress nocallback nofree nosync nounwind speculatable willreturn memory(none)
declare i64 @llvm.cttz.i64(i64, i1 immarg) #2

; Function Attrs: nofree norecurse nosync nounwind memory(argmem: readwrite)
define i64 @line_ends(ptr readonly %.1, i64 %.2, ptr writeonly %.3) local_unnamed_addr #0 {
entry:
  %.5 = alloca i64, align 8
  store i64 0, ptr %.5, align 8
  call fastcc void @inside_line_ends(ptr nonnull %.5, ptr %.1, i64 %.2, ptr %.3) #4
  %.19 = load i64, ptr %.5, align 8
  ret i64 %.19
}

; Function Attrs: nofree norecurse nosync nounwind memory(argmem: readwrite)
define internal fastcc void @inside_can_text(ptr noalias nonnull writeonly %retptr, ptr readonly %arg.b, ptr readonly %arg.ends, i64 %arg.n, i64 %arg.layouts, ptr readonly %arg.size, ptr readonly %arg.words, ptr readonly %arg.bus, ptr readonly %arg.runs, ptr readonly %arg.template, ptr readonly %arg.fixed, ptr readonly %arg.digit, ptr readonly %arg.run_word, ptr readonly %arg.run_shift, ptr readonly %arg.run_mask, ptr readonly %arg.run_worth, i64 %arg.latest_ns, ptr writeonly %arg.kept, ptr writeonly %arg.t_ns, ptr writeonly %arg.can_id, ptr writeonly %arg.flags, ptr writeonly %arg.out_bus, ptr writeonly %arg.length, ptr writeonly %arg.data, ptr writeonly %arg.left) unnamed_addr #0 {
B0.endif:
  %.177762.not = icmp slt i64 %arg.n, 1
  br i1 %.177762.not, label %B2622, label %B118.lr.ph

B118.lr.ph:                                       ; preds = %B0.endif
  %.351716.not = icmp slt i64 %arg.layouts, 1
  br i1 %.351716.not, label %iter.check45, label %B118.us.preheader

B118.us.preheader:                                ; preds = %B118.lr.ph
  %scevgep94 = getelementptr i8, ptr %arg.b, i64 192
  %scevgep103 = getelementptr i8, ptr %arg.template, i64 192
  %scevgep120 = getelementptr i8, ptr %arg.fixed, i64 128
  %scevgep155 = getelementptr i8, ptr %arg.run_word, i64 8
  br label %B118.us

iter.check45:                                     ; preds = %B118.lr.ph
  %min.iters.check43 = icmp ult i64 %arg.n, 4
  br i1 %min.iters.check43, label %B118.preheader, label %vector.main.loop.iter.check47

B118.preheader:                                   ; preds = %vec.epilog.middle.block68, %vec.epilog.iter.check58, %iter.check45
  %n_left.2.0770.ph = phi i64 [ %n.vec62, %vec.epilog.middle.block68 ], [ %n.vec50, %vec.epilog.iter.check58 ], [ 0, %iter.check45 ]
  br label %B118

vector.main.loop.iter.check47:                    ; preds = %iter.check45
  %min.iters.check46 = icmp ult i64 %arg.n, 32
  br i1 %min.iters.check46, label %vec.epilog.ph60, label %vector.ph48

vector.ph48:                                      ; preds = %vector.main.loop.iter.check47
  %n.vec50 = and i64 %arg.n, 9223372036854775776
  br label %vector.body51

vector.body51:                                    ; preds = %vector.body51, %vector.ph48
  %index52 = phi i64 [ 0, %vector.ph48 ], [ %index.next53, %vector.body51 ]
  %vec.ind = phi <8 x i64> [ <i64 0, i64 1, i64 2, i64 3, i64 4, i64 5, i64 6, i64 7>, %vector.ph48 ], [ %vec.ind.next, %vector.body51 ]
  %step.add = add <8 x i64> %vec.ind, splat (i64 8)
  %step.add.2 = add <8 x i64> %vec.ind, splat (i64 16)
  %step.add.3 = add <8 x i64> %vec.ind, splat (i64 24)
  %sunkaddr = shl i64 %index52, 3
  %sunkaddr191 = getelementptr i8, ptr %arg.left, i64 %sunkaddr
  store <8 x i64> %vec.ind, ptr %sunkaddr191, align 8
  %sunkaddr194 = getelementptr i8, ptr %sunkaddr191, i64 64
  store <8 x i64> %step.add, ptr %sunkaddr194, align 8
  %sunkaddr197 = getelementptr i8, ptr %sunkaddr191, i64 128
  store <8 x i64> %step.add.2, ptr %sunkaddr197, align 8
  %sunkaddr200 = getelementptr i8, ptr %sunkaddr191, i64 192
  store <8 x i64> %step.add.3, ptr %sunkaddr200, align 8
  %index.next53 = add nuw nsw i64 %index52, 32
  %vec.ind.next = add <8 x i64> %vec.ind, splat (i64 32)
  %0 = icmp eq i64 %n.vec50, %index.next53
  br i1 %0, label %middle.block54, label %vector.body51, !llvm.loop !2

middle.block54:                                   ; preds = %vector.body51
  %cmp.n55 = icmp eq i64 %arg.n, %n.vec50
  br i1 %cmp.n55, label %B2622, label %vec.epilog.iter.check58

vec.epilog.iter.check58:                          ; preds = %middle.block54
  %1 = and i64 %arg.n, 28
  %min.epilog.iters.check59 = icmp eq i64 %1, 0
  br i1 %min.epilog.iters.check59, label %B118.preheader, label %vec.epilog.ph60, !prof !5

vec.epilog.ph60:                                  ; preds = %vec.epilog.iter.check58, %vector.main.loop.iter.check47
  %bc.resume.val56 = phi i64 [ %n.vec50, %vec.epilog.iter.check58 ], [ 0, %vector.main.loop.iter.check47 ]
  %n.vec62 = and i64 %arg.n, 9223372036854775804
  %broadcast.splatinsert = insertelement <4 x i64> poison, i64 %bc.resume.val56, i64 0
  %broadcast.splat = shufflevector <4 x i64> %broadcast.splatinsert, <4 x i64> poison, <4 x i32> zeroinitializer
  %induction = or disjoint <4 x i64> %broadcast.splat, <i64 0, i64 1, i64 2, i64 3>
  br label %vec.epilog.vector.body63

vec.epilog.vector.body63:                         ; preds = %vec.epilog.vector.body63, %vec.epilog.ph60
  %index64 = phi i64 [ %bc.resume.val56, %vec.epilog.ph60 ], [ %index.next66, %vec.epilog.vector.body63 ]
  %vec.ind65 = phi <4 x i64> [ %induction, %vec.epilog.ph60 ], [ %vec.ind.next67, %vec.epilog.vector.body63 ]
  %2 = shl i64 %index64, 3
  %scevgep85 = getelementptr i8, ptr %arg.left, i64 %2
  store <4 x i64> %vec.ind65, ptr %scevgep85, align 8
  %index.next66 = add nuw i64 %index64, 4
  %vec.ind.next67 = add nuw nsw <4 x i64> %vec.ind65, splat (i64 4)
  %3 = icmp eq i64 %n.vec62, %index.next66
  br i1 %3, label %vec.epilog.middle.block68, label %vec.epilog.vector.body63, !llvm.loop !6

vec.epilog.middle.block68:                        ; preds = %vec.epilog.vector.body63
  %cmp.n69 = icmp eq i64 %arg.n, %n.vec62
  br i1 %cmp.n69, label %B2622, label %B118.preheader

B118.us:                                          ; preds = %B2618.us, %B118.us.preheader
  %seen_layout.2.0775.us = phi i64 [ %seen_layout.3.1610.us, %B2618.us ], [ -1, %B118.us.preheader ]
  %seen_ns.2.0774.us = phi i64 [ %seen_ns.3.1608.us, %B2618.us ], [ 0, %B118.us.preheader ]
  %seen.2.0773.us = phi i64 [ %seen.3.1606.us, %B2618.us ], [ 0, %B118.us.preheader ]
  %begin.2.0772.us = phi i64 [ %.236.us, %B2618.us ], [ 0, %B118.us.preheader ]
  %last.2.0771.us = phi i64 [ %last.3.1604.us, %B2618.us ], [ 0, %B118.us.preheader ]
  %n_left.2.0770.us = phi i64 [ %n_left.3.1.us, %B2618.us ], [ 0, %B118.us.preheader ]
  %.183739767.us = phi i64 [ %.190.us, %B2618.us ], [ 0, %B118.us.preheader ]
  %.190.us = add nuw nsw i64 %.183739767.us, 1
  %.220.us = getelementptr i64, ptr %arg.ends, i64 %.183739767.us
  %.221.us = load i64, ptr %.220.us, align 8
  %.236.us = add nsw i64 %.221.us, 1
  %.242.us = icmp sgt i64 %.221.us, %begin.2.0772.us
  br i1 %.242.us, label %B162.us, label %B202.endif.us

B162.us:                                          ; preds = %B118.us
  %.248.us = add nsw i64 %.221.us, -1
  %.250.us = getelementptr i8, ptr %arg.b, i64 %.248.us
  %.251.us = load i8, ptr %.250.us, align 1
  %.253.us = icmp eq i8 %.251.us, 13
  %spec.select.us = select i1 %.253.us, i64 %.248.us, i64 %.221.us
  br label %B202.endif.us

B202.endif.us:                                    ; preds = %B162.us, %B118.us
  %end.2.1.us = phi i64 [ %.221.us, %B118.us ], [ %spec.select.us, %B162.us ]
  %4 = getelementptr i8, ptr %arg.b, i64 %begin.2.0772.us
  %scevgep95 = getelementptr i8, ptr %scevgep94, i64 %begin.2.0772.us
  %5 = shl i64 %last.2.0771.us, 6
  %scevgep104 = getelementptr i8, ptr %scevgep103, i64 %5
  %scevgep112 = getelementptr i8, ptr %arg.digit, i64 %5
  %scevgep121 = getelementptr i8, ptr %scevgep120, i64 %5
  %scevgep132 = getelementptr i8, ptr %arg.fixed, i64 %5
  %scevgep137 = getelementptr i8, ptr %arg.template, i64 %5
  %6 = shl i64 %last.2.0771.us, 3
  %scevgep156 = getelementptr i8, ptr %scevgep155, i64 %5
  br label %B238.us

B236.us:                                          ; preds = %B520.us
  %scevgep105 = getelementptr i8, ptr %lsr.iv, i64 64
  %scevgep114 = getelementptr i8, ptr %lsr.iv113, i64 64
  %scevgep123 = getelementptr i8, ptr %lsr.iv122, i64 64
  %scevgep134 = getelementptr i8, ptr %lsr.iv133, i64 64
  %scevgep139 = getelementptr i8, ptr %lsr.iv138, i64 64
  %lsr.iv.next = add i64 %lsr.iv143, 8
  %exitcond807.not = icmp eq i64 %arg.layouts, %.364.us
  %scevgep158 = getelementptr i8, ptr %lsr.iv157, i64 64
  br i1 %exitcond807.not, label %B2598.us, label %B238.us

B238.us:                                          ; preds = %B236.us, %B202.endif.us
  %lsr.iv157 = phi ptr [ %scevgep156, %B202.endif.us ], [ %scevgep158, %B236.us ]
  %lsr.iv143 = phi i64 [ %6, %B202.endif.us ], [ %lsr.iv.next, %B236.us ]
  %lsr.iv138 = phi ptr [ %scevgep137, %B202.endif.us ], [ %scevgep139, %B236.us ]
  %lsr.iv133 = phi ptr [ %scevgep132, %B202.endif.us ], [ %scevgep134, %B236.us ]
  %lsr.iv122 = phi ptr [ %scevgep121, %B202.endif.us ], [ %scevgep123, %B236.us ]
  %lsr.iv113 = phi ptr [ %scevgep112, %B202.endif.us ], [ %scevgep114, %B236.us ]
  %lsr.iv = phi ptr [ %scevgep104, %B202.endif.us ], [ %scevgep105, %B236.us ]
  %.357711717.us = phi i64 [ 0, %B202.endif.us ], [ %.364.us, %B236.us ]
  %.364.us = add nuw nsw i64 %.357711717.us, 1
  %.392.us = add nsw i64 %.357711717.us, %last.2.0771.us
  %.402.not.us = icmp slt i64 %.392.us, %arg.layouts
  %.406.us = select i1 %.402.not.us, i64 0, i64 %arg.layouts
  %spec.select695.us = sub nsw i64 %.392.us, %.406.us
  %.419.us = getelementptr i64, ptr %arg.words, i64 %spec.select695.us
  %.420.us = load i64, ptr %.419.us, align 8
  %.500704.us.not = icmp slt i64 %.420.us, 1
  br i1 %.500704.us.not, label %B568.us, label %iter.check

B520.us:                                          ; preds = %B346.us, %vec.epilog.middle.block, %middle.block
  %.571.us.lcssa = phi i64 [ %72, %vec.epilog.middle.block ], [ %59, %middle.block ], [ %.571.us, %B346.us ]
  %7 = icmp eq i64 %.571.us.lcssa, 0
  br i1 %7, label %B568.us, label %B236.us

B568.us:                                          ; preds = %B520.us, %B238.us
  %.622.us = icmp sgt i64 %spec.select695.us, -1
  br i1 %.622.us, label %B586.us, label %B2598.us

B586.us:                                          ; preds = %B568.us
  %.665.us = load i64, ptr %4, align 1
  %.667.us = shl nsw i64 %spec.select695.us, 3
  %.669.us = getelementptr i64, ptr %arg.template, i64 %.667.us
  %.670.us = load i64, ptr %.669.us, align 8
  %.671.us = xor i64 %.670.us, %.665.us
  %.677.us = icmp eq i64 %spec.select695.us, %seen_layout.2.0775.us
  %.689.us = icmp eq i64 %.671.us, %seen.2.0773.us
  %or.cond.us = select i1 %.677.us, i1 %.689.us, i1 false
  br i1 %or.cond.us, label %B682.us, label %B816.endif.us

B682.us:                                          ; preds = %B586.us
  %.703.us = getelementptr i64, ptr %arg.runs, i64 %seen_layout.2.0775.us
  %.704.us = load i64, ptr %.703.us, align 8
  %.706.us = icmp sgt i64 %.704.us, 0
  br i1 %.706.us, label %B710.us, label %B816.endif.us

B710.us:                                          ; preds = %B682.us
  %.725.us = getelementptr i64, ptr %arg.run_word, i64 %.667.us
  %.726.us = load i64, ptr %.725.us, align 8
  %.727.us = icmp eq i64 %.726.us, 0
  br i1 %.727.us, label %B746.preheader.us, label %B816.endif.us

B746.us:                                          ; preds = %B746.preheader.us, %B780.us
  %first.2.3.us = phi i64 [ %.736.us, %B780.us ], [ 0, %B746.preheader.us ]
  %exitcond808.not = icmp eq i64 %27, %first.2.3.us
  br i1 %exitcond808.not, label %B816.endif.us, label %B780.us

B780.us:                                          ; preds = %B746.us
  %.736.us = add nuw nsw i64 %first.2.3.us, 1
  %8 = shl i64 %first.2.3.us, 3
  %scevgep160 = getelementptr i8, ptr %scevgep159, i64 %8
  %.769.us = load i64, ptr %scevgep160, align 8
  %.770.us = icmp eq i64 %.769.us, 0
  br i1 %.770.us, label %B746.us, label %B816.endif.us

B816.endif.us:                                    ; preds = %B780.us, %B746.us, %B710.us, %B682.us, %B586.us
  %t.4.2.us = phi i64 [ %seen_ns.2.0774.us, %B682.us ], [ 0, %B586.us ], [ %seen_ns.2.0774.us, %B710.us ], [ %seen_ns.2.0774.us, %B746.us ], [ %seen_ns.2.0774.us, %B780.us ]
  %first.3.2.us = phi i64 [ 0, %B682.us ], [ 0, %B586.us ], [ 0, %B710.us ], [ %.736.us, %B780.us ], [ %.704.us, %B746.us ]
  %.813.us = getelementptr i64, ptr %arg.runs, i64 %spec.select695.us
  %.814.us = load i64, ptr %.813.us, align 8
  %.854.us = sub i64 %.814.us, %first.3.2.us
  %.898725.us.not = icmp slt i64 %.854.us, 1
  br i1 %.898725.us.not, label %B1408.us, label %B864.us.preheader

B864.us.preheader:                                ; preds = %B816.endif.us
  %.neg = add i64 %first.3.2.us, 1
  %xtraiter = and i64 %.854.us, 1
  %lcmp.mod.not = icmp eq i64 %xtraiter, 0
  br i1 %lcmp.mod.not, label %B864.us.prol.loopexit, label %B864.us.prol

B864.us.prol:                                     ; preds = %B864.us.preheader
  %.907.us.prol = add nsw i64 %.854.us, -1
  %.956.us.prol = add nsw i64 %first.3.2.us, %.667.us
  %.958.us.prol = getelementptr i64, ptr %arg.run_word, i64 %.956.us.prol
  %.959.us.prol = load i64, ptr %.958.us.prol, align 8
  %.960.us.prol = shl nsw i64 %.959.us.prol, 3
  %.964.us.prol = getelementptr i8, ptr %4, i64 %.960.us.prol
  %.966.us.prol = load i64, ptr %.964.us.prol, align 1
  %.971.us.prol = getelementptr i64, ptr %.669.us, i64 %.959.us.prol
  %.972.us.prol = load i64, ptr %.971.us.prol, align 8
  %.973.us.prol = xor i64 %.972.us.prol, %.966.us.prol
  %.978.us.prol = getelementptr i64, ptr %arg.run_mask, i64 %.956.us.prol
  %.979.us.prol = load i64, ptr %.978.us.prol, align 8
  %.980.us.prol = and i64 %.973.us.prol, %.979.us.prol
  %.985.us.prol = getelementptr i64, ptr %arg.run_shift, i64 %.956.us.prol
  %.986.us.prol = load i64, ptr %.985.us.prol, align 8
  %.987.us.prol = shl i64 %.980.us.prol, %.986.us.prol
  %.988.us.prol = mul i64 %.987.us.prol, 10
  %.989.us.prol = lshr i64 %.987.us.prol, 8
  %.990.us.prol = add i64 %.988.us.prol, %.989.us.prol
  %.991.us.prol = and i64 %.990.us.prol, 1095216660735
  %.992.us.prol = mul i64 %.991.us.prol, 4294967296000100
  %.993.us.prol = lshr i64 %.990.us.prol, 16
  %.994.us.prol = and i64 %.993.us.prol, 1095216660735
  %.995.us.prol = mul i64 %.994.us.prol, 42949672960001
  %.996.us.prol = add i64 %.995.us.prol, %.992.us.prol
  %.997.us.prol = lshr i64 %.996.us.prol, 32
  %.1002.us.prol = getelementptr i64, ptr %arg.run_worth, i64 %.956.us.prol
  %.1003.us.prol = load i64, ptr %.1002.us.prol, align 8
  %.1004.us.prol = mul nsw i64 %.997.us.prol, %.1003.us.prol
  %.1006.us.prol = add nsw i64 %.1004.us.prol, %t.4.2.us
  %.1012.us.prol = icmp eq i64 %.959.us.prol, 0
  %seen.5.3.us.prol = select i1 %.1012.us.prol, i64 %.671.us, i64 %seen.2.0773.us
  %seen_ns.5.3.us.prol = select i1 %.1012.us.prol, i64 %.1006.us.prol, i64 %seen_ns.2.0774.us
  %seen_layout.5.3.us.prol = select i1 %.1012.us.prol, i64 %spec.select695.us, i64 %seen_layout.2.0775.us
  br label %B864.us.prol.loopexit

B864.us.prol.loopexit:                            ; preds = %B864.us.prol, %B864.us.preheader
  %t.3.2731.us.unr = phi i64 [ %t.4.2.us, %B864.us.preheader ], [ %.1006.us.prol, %B864.us.prol ]
  %seen_layout.4.2730.us.unr = phi i64 [ %seen_layout.2.0775.us, %B864.us.preheader ], [ %seen_layout.5.3.us.prol, %B864.us.prol ]
  %seen_ns.4.2729.us.unr = phi i64 [ %seen_ns.2.0774.us, %B864.us.preheader ], [ %seen_ns.5.3.us.prol, %B864.us.prol ]
  %seen.4.2728.us.unr = phi i64 [ %seen.2.0773.us, %B864.us.preheader ], [ %seen.5.3.us.prol, %B864.us.prol ]
  %.897723727.us.unr = phi i64 [ %.854.us, %B864.us.preheader ], [ %.907.us.prol, %B864.us.prol ]
  %.904724726.us.unr = phi i64 [ %first.3.2.us, %B864.us.preheader ], [ %.neg, %B864.us.prol ]
  %.1006.us.lcssa.unr = phi i64 [ poison, %B864.us.preheader ], [ %.1006.us.prol, %B864.us.prol ]
  %seen.5.3.us.lcssa.unr = phi i64 [ poison, %B864.us.preheader ], [ %seen.5.3.us.prol, %B864.us.prol ]
  %seen_ns.5.3.us.lcssa.unr = phi i64 [ poison, %B864.us.preheader ], [ %seen_ns.5.3.us.prol, %B864.us.prol ]
  %seen_layout.5.3.us.lcssa.unr = phi i64 [ poison, %B864.us.preheader ], [ %seen_layout.5.3.us.prol, %B864.us.prol ]
  %9 = icmp eq i64 %.814.us, %.neg
  br i1 %9, label %B1408.us, label %B864.us.preheader.new

B864.us.preheader.new:                            ; preds = %B864.us.prol.loopexit
  %10 = add nuw i64 %.897723727.us.unr, 2
  %11 = add i64 %.904724726.us.unr, %lsr.iv143
  %12 = shl i64 %.406.us, 6
  %13 = shl i64 %11, 3
  %14 = sub i64 %13, %12
  br label %B864.us

B1408.us:                                         ; preds = %B864.us, %B864.us.prol.loopexit, %B816.endif.us
  %seen.4.2.lcssa.us = phi i64 [ %seen.2.0773.us, %B816.endif.us ], [ %seen.5.3.us.lcssa.unr, %B864.us.prol.loopexit ], [ %seen.5.3.us.1, %B864.us ]
  %seen_ns.4.2.lcssa.us = phi i64 [ %seen_ns.2.0774.us, %B816.endif.us ], [ %seen_ns.5.3.us.lcssa.unr, %B864.us.prol.loopexit ], [ %seen_ns.5.3.us.1, %B864.us ]
  %seen_layout.4.2.lcssa.us = phi i64 [ %seen_layout.2.0775.us, %B816.endif.us ], [ %seen_layout.5.3.us.lcssa.unr, %B864.us.prol.loopexit ], [ %seen_layout.5.3.us.1, %B864.us ]
  %t.3.2.lcssa.us = phi i64 [ %t.4.2.us, %B816.endif.us ], [ %.1006.us.lcssa.unr, %B864.us.prol.loopexit ], [ %.1006.us.1, %B864.us ]
  %.1053.us = getelementptr i64, ptr %arg.size, i64 %spec.select695.us
  %.1054.us = load i64, ptr %.1053.us, align 8
  %.1056.us = add nsw i64 %.1054.us, %begin.2.0772.us
  %15 = getelementptr i8, ptr %arg.b, i64 %.1056.us
  %.1071.us = getelementptr i8, ptr %15, i64 3
  %.1072.us = load i8, ptr %.1071.us, align 1
  %.1074.us = icmp eq i8 %.1072.us, 35
  %.1092.us = load <16 x i8>, ptr %15, align 1
  %.1093.us = add <16 x i8> %.1092.us, splat (i8 -48)
  %.1095.us = or <16 x i8> %.1092.us, splat (i8 32)
  %.1096.us = add <16 x i8> %.1095.us, splat (i8 -97)
  %16 = icmp ult <16 x i8> %.1096.us, splat (i8 6)
  %17 = icmp ult <16 x i8> %.1093.us, splat (i8 10)
  br i1 %.1074.us, label %B1494.us, label %B1644.us

B1644.us:                                         ; preds = %B1408.us
  %.1157.us = or <16 x i1> %17, %16
  %.1158.us = bitcast <16 x i1> %.1157.us to i16
  %18 = and i16 %.1158.us, 511
  %.1184.us = icmp eq i16 %18, 255
  br i1 %.1184.us, label %B1856.us, label %B2598.us

B1856.us:                                         ; preds = %B1644.us
  %19 = extractelement <16 x i8> %.1092.us, i64 8
  %.1154.us = add <16 x i8> %.1095.us, splat (i8 -87)
  %.1155.us = select <16 x i1> %16, <16 x i8> %.1154.us, <16 x i8> zeroinitializer
  %.1156.us = select <16 x i1> %17, <16 x i8> %.1093.us, <16 x i8> %.1155.us
  %.1163.us = shufflevector <16 x i8> %.1156.us, <16 x i8> poison, <8 x i32> <i32 0, i32 2, i32 4, i32 6, i32 8, i32 10, i32 12, i32 14>
  %.1165.us = shl <8 x i8> %.1163.us, splat (i8 4)
  %.1164.us = shufflevector <16 x i8> %.1156.us, <16 x i8> poison, <8 x i32> <i32 1, i32 3, i32 5, i32 7, i32 9, i32 11, i32 13, i32 15>
  %.1166.us = or <8 x i8> %.1165.us, %.1164.us
  %.1168.us = bitcast <8 x i8> %.1166.us to i64
  %.1179.us = tail call i64 @llvm.bswap.i64(i64 %.1168.us)
  %.1180.us = lshr i64 %.1179.us, 32
  %.1195.us = icmp eq i8 %19, 35
  %.1210.us = add nsw i64 %.1056.us, 9
  br i1 %.1195.us, label %B1860.us, label %B2598.us

B1494.us:                                         ; preds = %B1408.us
  %.1098.us = add <16 x i8> %.1095.us, splat (i8 -87)
  %.1099.us = select <16 x i1> %16, <16 x i8> %.1098.us, <16 x i8> zeroinitializer
  %.1100.us = select <16 x i1> %17, <16 x i8> %.1093.us, <16 x i8> %.1099.us
  %.1101.us = or <16 x i1> %17, %16
  %.1102.us = bitcast <16 x i1> %.1101.us to i16
  %.1107.us = shufflevector <16 x i8> %.1100.us, <16 x i8> poison, <8 x i32> <i32 0, i32 2, i32 4, i32 6, i32 8, i32 10, i32 12, i32 14>
  %.1108.us = shufflevector <16 x i8> %.1100.us, <16 x i8> poison, <8 x i32> <i32 1, i32 3, i32 5, i32 7, i32 9, i32 11, i32 13, i32 15>
  %.1109.us = shl <8 x i8> %.1107.us, splat (i8 4)
  %.1110.us = or <8 x i8> %.1109.us, %.1108.us
  %.1112.us = bitcast <8 x i8> %.1110.us to i64
  %.1123.us = tail call i64 @llvm.bswap.i64(i64 %.1112.us)
  %.1124.us = lshr i64 %.1123.us, 52
  %20 = and i16 %.1102.us, 15
  %.1128.us = icmp eq i16 %20, 7
  %.1133.us = add nsw i64 %.1056.us, 4
  br i1 %.1128.us, label %B1860.us, label %B2598.us

B1860.us:                                         ; preds = %B1494.us, %B1856.us
  %q.3.2511.us = phi i64 [ %.1133.us, %B1494.us ], [ %.1210.us, %B1856.us ]
  %number.3.2508.us = phi i64 [ %.1124.us, %B1494.us ], [ %.1180.us, %B1856.us ]
  %limit.2.2507.us = phi i64 [ 2047, %B1494.us ], [ 1073741823, %B1856.us ]
  %form.5.2506.us = phi i8 [ 0, %B1494.us ], [ 1, %B1856.us ]
  %.1230.us = icmp samesign ule i64 %number.3.2508.us, %limit.2.2507.us
  %.1238.us = icmp sle i64 %t.3.2.lcssa.us, %arg.latest_ns
  %or.cond696.us = select i1 %.1230.us, i1 %.1238.us, i1 false
  br i1 %or.cond696.us, label %B1890.us, label %B2598.us

B1890.us:                                         ; preds = %B1860.us
  %.1288.us = icmp samesign ugt i64 %number.3.2508.us, 536870911
  %.1293.us = add nuw nsw i64 %number.3.2508.us, 3758096384
  %spec.select697.us = select i1 %.1288.us, i8 8, i8 %form.5.2506.us
  %spec.select698.us = select i1 %.1288.us, i64 %.1293.us, i64 %number.3.2508.us
  %.1313.us = getelementptr inbounds i8, ptr %arg.b, i64 %q.3.2511.us
  %.1315.us = load <16 x i8>, ptr %.1313.us, align 1
  %.1316.us = add <16 x i8> %.1315.us, splat (i8 -48)
  %.1317.us = icmp ult <16 x i8> %.1316.us, splat (i8 10)
  %.1318.us = or <16 x i8> %.1315.us, splat (i8 32)
  %.1319.us = add <16 x i8> %.1318.us, splat (i8 -97)
  %.1320.us = icmp ult <16 x i8> %.1319.us, splat (i8 6)
  %.1321.us = add <16 x i8> %.1318.us, splat (i8 -87)
  %.1322.us = select <16 x i1> %.1320.us, <16 x i8> %.1321.us, <16 x i8> zeroinitializer
  %.1323.us = select <16 x i1> %.1317.us, <16 x i8> %.1316.us, <16 x i8> %.1322.us
  %.1324.us = or <16 x i1> %.1317.us, %.1320.us
  %.1325.us = bitcast <16 x i1> %.1324.us to i16
  %.1326.us = zext i16 %.1325.us to i32
  %.1327.us = xor i32 %.1326.us, -1
  %.1329.us = tail call range(i32 0, 17) i32 @llvm.cttz.i32(i32 %.1327.us, i1 true)
  %.1330.us = shufflevector <16 x i8> %.1323.us, <16 x i8> poison, <8 x i32> <i32 0, i32 2, i32 4, i32 6, i32 8, i32 10, i32 12, i32 14>
  %.1331.us = shufflevector <16 x i8> %.1323.us, <16 x i8> poison, <8 x i32> <i32 1, i32 3, i32 5, i32 7, i32 9, i32 11, i32 13, i32 15>
  %.1332.us = shl <8 x i8> %.1330.us, splat (i8 4)
  %.1333.us = or <8 x i8> %.1332.us, %.1331.us
  %.1334.us = zext nneg i32 %.1329.us to i64
  %.1335.us = bitcast <8 x i8> %.1333.us to i64
  %.1354.us = add nsw i64 %q.3.2511.us, %.1334.us
  %.1362.not.us = icmp eq i64 %.1354.us, %end.2.1.us
  br i1 %.1362.not.us, label %B2258.us, label %B2064.us

B2064.us:                                         ; preds = %B1890.us
  %21 = getelementptr i8, ptr %arg.b, i64 %end.2.1.us
  %.1371.us = getelementptr i8, ptr %21, i64 -1
  %.1372.us = load i8, ptr %.1371.us, align 1
  %22 = and i8 %.1372.us, -33
  %.1379.us = add nsw i64 %end.2.1.us, -2
  %.1381.us = icmp eq i64 %.1354.us, %.1379.us
  br i1 %.1381.us, label %B2110.us, label %B2162.us

B2110.us:                                         ; preds = %B2064.us
  %.1393.us = getelementptr i8, ptr %arg.b, i64 %.1354.us
  %.1394.us = load i8, ptr %.1393.us, align 1
  %.1396.us = icmp eq i8 %.1394.us, 32
  br i1 %.1396.us, label %B2140.us, label %B2162.us

B2140.us:                                         ; preds = %B2110.us
  %.1401.us = icmp eq i8 %22, 82
  br i1 %.1401.us, label %B2258.us, label %B2152.us

B2152.us:                                         ; preds = %B2140.us
  %.1406.us = icmp eq i8 %22, 84
  br label %B2162.us

B2162.us:                                         ; preds = %B2152.us, %B2110.us, %B2064.us
  %"$phi2162.1.4.3.us" = phi i1 [ false, %B2064.us ], [ %.1406.us, %B2152.us ], [ false, %B2110.us ]
  %.1425.us = icmp eq i8 %22, 84
  br i1 %.1425.us, label %B2176.us, label %B2186.us

B2186.us:                                         ; preds = %B2162.us
  br i1 %"$phi2162.1.4.3.us", label %B2258.us, label %B2598.us

B2176.us:                                         ; preds = %B2162.us
  %.1435.us = or disjoint i8 %spec.select697.us, 16
  br i1 %"$phi2162.1.4.3.us", label %B2258.us, label %B2598.us

B2258.us:                                         ; preds = %B2176.us, %B2186.us, %B2140.us, %B1890.us
  %form.6.2531.us = phi i8 [ %.1435.us, %B2176.us ], [ %spec.select697.us, %B2186.us ], [ %spec.select697.us, %B1890.us ], [ %spec.select697.us, %B2140.us ]
  %.1458.us = and i64 %.1334.us, 1
  %.1459.us = icmp eq i64 %.1458.us, 0
  br i1 %.1459.us, label %B2264.us, label %B2598.us

B2598.us:                                         ; preds = %B236.us, %B2258.us, %B2176.us, %B2186.us, %B1860.us, %B1494.us, %B1856.us, %B1644.us, %B568.us
  %last.3.1.ph.us = phi i64 [ %spec.select695.us, %B1644.us ], [ %spec.select695.us, %B2258.us ], [ %spec.select695.us, %B2186.us ], [ %last.2.0771.us, %B568.us ], [ %spec.select695.us, %B2176.us ], [ %spec.select695.us, %B1860.us ], [ %spec.select695.us, %B1856.us ], [ %spec.select695.us, %B1494.us ], [ %last.2.0771.us, %B236.us ]
  %seen.3.1.ph.us = phi i64 [ %seen.4.2.lcssa.us, %B1644.us ], [ %seen.4.2.lcssa.us, %B2258.us ], [ %seen.4.2.lcssa.us, %B2186.us ], [ %seen.2.0773.us, %B568.us ], [ %seen.4.2.lcssa.us, %B2176.us ], [ %seen.4.2.lcssa.us, %B1860.us ], [ %seen.4.2.lcssa.us, %B1856.us ], [ %seen.4.2.lcssa.us, %B1494.us ], [ %seen.2.0773.us, %B236.us ]
  %seen_ns.3.1.ph.us = phi i64 [ %seen_ns.4.2.lcssa.us, %B1644.us ], [ %seen_ns.4.2.lcssa.us, %B2258.us ], [ %seen_ns.4.2.lcssa.us, %B2186.us ], [ %seen_ns.2.0774.us, %B568.us ], [ %seen_ns.4.2.lcssa.us, %B2176.us ], [ %seen_ns.4.2.lcssa.us, %B1860.us ], [ %seen_ns.4.2.lcssa.us, %B1856.us ], [ %seen_ns.4.2.lcssa.us, %B1494.us ], [ %seen_ns.2.0774.us, %B236.us ]
  %seen_layout.3.1.ph.us = phi i64 [ %seen_layout.4.2.lcssa.us, %B1644.us ], [ %seen_layout.4.2.lcssa.us, %B2258.us ], [ %seen_layout.4.2.lcssa.us, %B2186.us ], [ %seen_layout.2.0775.us, %B568.us ], [ %seen_layout.4.2.lcssa.us, %B2176.us ], [ %seen_layout.4.2.lcssa.us, %B1860.us ], [ %seen_layout.4.2.lcssa.us, %B1856.us ], [ %seen_layout.4.2.lcssa.us, %B1494.us ], [ %seen_layout.2.0775.us, %B236.us ]
  %.1650.us = getelementptr i64, ptr %arg.left, i64 %n_left.2.0770.us
  store i64 %.183739767.us, ptr %.1650.us, align 8
  %.1655.us = add nsw i64 %n_left.2.0770.us, 1
  br label %B2618.us

B2264.us:                                         ; preds = %B2258.us
  %.1501.us = icmp samesign ult i32 %.1329.us, 16
  %.1504.us = shl nuw nsw i64 %.1334.us, 2
  %notmask.us = shl nsw i64 -1, %.1504.us
  %.1506.us = xor i64 %notmask.us, -1
  %.1508.us = select i1 %.1501.us, i64 %.1506.us, i64 -1
  %spelt.4.2.us = and i64 %.1508.us, %.1335.us
  %.1544.us = getelementptr i8, ptr %arg.kept, i64 %.183739767.us
  store i8 1, ptr %.1544.us, align 1
  %.1549.us = getelementptr i64, ptr %arg.t_ns, i64 %.183739767.us
  store i64 %t.3.2.lcssa.us, ptr %.1549.us, align 8
  %.1554.us = trunc i64 %spec.select698.us to i32
  %.1559.us = getelementptr i32, ptr %arg.can_id, i64 %.183739767.us
  store i32 %.1554.us, ptr %.1559.us, align 4
  %.1565.us = getelementptr i8, ptr %arg.flags, i64 %.183739767.us
  store i8 %form.6.2531.us, ptr %.1565.us, align 1
  %.1571.us = getelementptr i64, ptr %arg.bus, i64 %spec.select695.us
  %.1572.us = load i64, ptr %.1571.us, align 8
  %.1577.us = trunc i64 %.1572.us to i8
  %.1578.us = getelementptr i8, ptr %arg.out_bus, i64 %.183739767.us
  store i8 %.1577.us, ptr %.1578.us, align 1
  %.1581.us = lshr exact i64 %.1334.us, 1
  %.1584.us = trunc nuw nsw i64 %.1581.us to i8
  %.1587.us = getelementptr i8, ptr %arg.length, i64 %.183739767.us
  store i8 %.1584.us, ptr %.1587.us, align 1
  %.1592.us = getelementptr i64, ptr %arg.data, i64 %.183739767.us
  store i64 %spelt.4.2.us, ptr %.1592.us, align 8
  br label %B2618.us

B2618.us:                                         ; preds = %B2264.us, %B2598.us
  %seen_layout.3.1610.us = phi i64 [ %seen_layout.4.2.lcssa.us, %B2264.us ], [ %seen_layout.3.1.ph.us, %B2598.us ]
  %seen_ns.3.1608.us = phi i64 [ %seen_ns.4.2.lcssa.us, %B2264.us ], [ %seen_ns.3.1.ph.us, %B2598.us ]
  %seen.3.1606.us = phi i64 [ %seen.4.2.lcssa.us, %B2264.us ], [ %seen.3.1.ph.us, %B2598.us ]
  %last.3.1604.us = phi i64 [ %spec.select695.us, %B2264.us ], [ %last.3.1.ph.us, %B2598.us ]
  %n_left.3.1.us = phi i64 [ %n_left.2.0770.us, %B2264.us ], [ %.1655.us, %B2598.us ]
  %exitcond809.not = icmp eq i64 %.190.us, %arg.n
  br i1 %exitcond809.not, label %B2622, label %B118.us

B864.us:                                          ; preds = %B864.us, %B864.us.preheader.new
  %lsr.iv163 = phi i64 [ %lsr.iv.next164, %B864.us ], [ %14, %B864.us.preheader.new ]
  %lsr.iv161 = phi i64 [ %lsr.iv.next162, %B864.us ], [ %10, %B864.us.preheader.new ]
  %t.3.2731.us = phi i64 [ %.1006.us.1, %B864.us ], [ %t.3.2731.us.unr, %B864.us.preheader.new ]
  %seen_layout.4.2730.us = phi i64 [ %seen_layout.5.3.us.1, %B864.us ], [ %seen_layout.4.2730.us.unr, %B864.us.preheader.new ]
  %seen_ns.4.2729.us = phi i64 [ %seen_ns.5.3.us.1, %B864.us ], [ %seen_ns.4.2729.us.unr, %B864.us.preheader.new ]
  %seen.4.2728.us = phi i64 [ %seen.5.3.us.1, %B864.us ], [ %seen.4.2728.us.unr, %B864.us.preheader.new ]
  %scevgep165 = getelementptr i8, ptr %arg.run_word, i64 %lsr.iv163
  %.959.us = load i64, ptr %scevgep165, align 8
  %.960.us = shl nsw i64 %.959.us, 3
  %.964.us = getelementptr i8, ptr %4, i64 %.960.us
  %.966.us = load i64, ptr %.964.us, align 1
  %.971.us = getelementptr i64, ptr %.669.us, i64 %.959.us
  %.972.us = load i64, ptr %.971.us, align 8
  %.973.us = xor i64 %.972.us, %.966.us
  %scevgep168 = getelementptr i8, ptr %arg.run_mask, i64 %lsr.iv163
  %.979.us = load i64, ptr %scevgep168, align 8
  %.980.us = and i64 %.973.us, %.979.us
  %scevgep171 = getelementptr i8, ptr %arg.run_shift, i64 %lsr.iv163
  %.986.us = load i64, ptr %scevgep171, align 8
  %.987.us = shl i64 %.980.us, %.986.us
  %.988.us = mul i64 %.987.us, 10
  %.989.us = lshr i64 %.987.us, 8
  %.990.us = add i64 %.988.us, %.989.us
  %.991.us = and i64 %.990.us, 1095216660735
  %.992.us = mul i64 %.991.us, 4294967296000100
  %.993.us = lshr i64 %.990.us, 16
  %.994.us = and i64 %.993.us, 1095216660735
  %.995.us = mul i64 %.994.us, 42949672960001
  %.996.us = add i64 %.995.us, %.992.us
  %.997.us = lshr i64 %.996.us, 32
  %scevgep174 = getelementptr i8, ptr %arg.run_worth, i64 %lsr.iv163
  %.1003.us = load i64, ptr %scevgep174, align 8
  %.1004.us = mul nsw i64 %.997.us, %.1003.us
  %.1006.us = add nsw i64 %.1004.us, %t.3.2731.us
  %.1012.us = icmp eq i64 %.959.us, 0
  %seen_ns.5.3.us = select i1 %.1012.us, i64 %.1006.us, i64 %seen_ns.4.2729.us
  %scevgep167 = getelementptr i8, ptr %scevgep165, i64 8
  %.959.us.1 = load i64, ptr %scevgep167, align 8
  %.960.us.1 = shl nsw i64 %.959.us.1, 3
  %.964.us.1 = getelementptr i8, ptr %4, i64 %.960.us.1
  %.966.us.1 = load i64, ptr %.964.us.1, align 1
  %.971.us.1 = getelementptr i64, ptr %.669.us, i64 %.959.us.1
  %.972.us.1 = load i64, ptr %.971.us.1, align 8
  %.973.us.1 = xor i64 %.972.us.1, %.966.us.1
  %scevgep170 = getelementptr i8, ptr %scevgep168, i64 8
  %.979.us.1 = load i64, ptr %scevgep170, align 8
  %.980.us.1 = and i64 %.973.us.1, %.979.us.1
  %scevgep173 = getelementptr i8, ptr %scevgep171, i64 8
  %.986.us.1 = load i64, ptr %scevgep173, align 8
  %.987.us.1 = shl i64 %.980.us.1, %.986.us.1
  %.988.us.1 = mul i64 %.987.us.1, 10
  %.989.us.1 = lshr i64 %.987.us.1, 8
  %.990.us.1 = add i64 %.988.us.1, %.989.us.1
  %.991.us.1 = and i64 %.990.us.1, 1095216660735
  %.992.us.1 = mul i64 %.991.us.1, 4294967296000100
  %.993.us.1 = lshr i64 %.990.us.1, 16
  %.994.us.1 = and i64 %.993.us.1, 1095216660735
  %.995.us.1 = mul i64 %.994.us.1, 42949672960001
  %.996.us.1 = add i64 %.995.us.1, %.992.us.1
  %.997.us.1 = lshr i64 %.996.us.1, 32
  %scevgep176 = getelementptr i8, ptr %scevgep174, i64 8
  %.1003.us.1 = load i64, ptr %scevgep176, align 8
  %.1004.us.1 = mul nsw i64 %.997.us.1, %.1003.us.1
  %.1006.us.1 = add nsw i64 %.1004.us.1, %.1006.us
  %.1012.us.1 = icmp eq i64 %.959.us.1, 0
  %23 = or i1 %.1012.us, %.1012.us.1
  %seen.5.3.us.1 = select i1 %23, i64 %.671.us, i64 %seen.4.2728.us
  %seen_ns.5.3.us.1 = select i1 %.1012.us.1, i64 %.1006.us.1, i64 %seen_ns.5.3.us
  %seen_layout.5.3.us.1 = select i1 %23, i64 %spec.select695.us, i64 %seen_layout.4.2730.us
  %lsr.iv.next162 = add i64 %lsr.iv161, -2
  %lsr.iv.next164 = add i64 %lsr.iv163, 16
  %.898.us.1 = icmp sgt i64 %lsr.iv.next162, 2
  br i1 %.898.us.1, label %B864.us, label %B1408.us

B346.us:                                          ; preds = %B346.us.preheader, %B346.us
  %lsr.iv145 = phi i64 [ 0, %B346.us.preheader ], [ %lsr.iv.next146, %B346.us ]
  %odd.3.2707.us = phi i64 [ %odd.3.2707.us.ph, %B346.us.preheader ], [ %.571.us, %B346.us ]
  %24 = shl i64 %lsr.iv145, 3
  %scevgep154 = getelementptr i8, ptr %scevgep153, i64 %24
  %.544.us = load i64, ptr %scevgep154, align 1
  %scevgep151 = getelementptr i8, ptr %scevgep150, i64 %24
  %.550.us = load i64, ptr %scevgep151, align 8
  %.551.us = xor i64 %.550.us, %.544.us
  %scevgep149 = getelementptr i8, ptr %scevgep148, i64 %24
  %.557.us = load i64, ptr %scevgep149, align 8
  %.558.us = and i64 %.551.us, %.557.us
  %scevgep147 = getelementptr i8, ptr %scevgep144, i64 %24
  %.566.us = load i64, ptr %scevgep147, align 8
  %.567.us = add i64 %.566.us, %.551.us
  %.569.us = and i64 %.557.us, -1085102592571150096
  %.570.us = and i64 %.569.us, %.567.us
  %25 = or i64 %.558.us, %odd.3.2707.us
  %.571.us = or i64 %25, %.570.us
  %lsr.iv.next146 = add i64 %lsr.iv145, 1
  %exitcond.not = icmp eq i64 %78, %lsr.iv.next146
  br i1 %exitcond.not, label %B520.us, label %B346.us, !llvm.loop !7

B746.preheader.us:                                ; preds = %B710.us
  %26 = mul i64 %.406.us, -64
  %scevgep159 = getelementptr i8, ptr %lsr.iv157, i64 %26
  %27 = add nsw i64 %.704.us, -1
  br label %B746.us

iter.check:                                       ; preds = %B238.us
  %min.iters.check = icmp ult i64 %.420.us, 4
  br i1 %min.iters.check, label %B346.us.preheader, label %vector.main.loop.iter.check

vector.main.loop.iter.check:                      ; preds = %iter.check
  %min.iters.check11 = icmp ult i64 %.420.us, 32
  br i1 %min.iters.check11, label %vec.epilog.ph, label %vector.ph

vector.ph:                                        ; preds = %vector.main.loop.iter.check
  %n.vec = and i64 %.420.us, 9223372036854775776
  %28 = mul i64 %.406.us, -64
  %scevgep106 = getelementptr i8, ptr %lsr.iv, i64 %28
  %scevgep115 = getelementptr i8, ptr %lsr.iv113, i64 %28
  %scevgep124 = getelementptr i8, ptr %lsr.iv122, i64 %28
  br label %vector.body

vector.body:                                      ; preds = %vector.body, %vector.ph
  %index = phi i64 [ 0, %vector.ph ], [ %index.next, %vector.body ]
  %vec.phi = phi <8 x i64> [ zeroinitializer, %vector.ph ], [ %54, %vector.body ]
  %vec.phi12 = phi <8 x i64> [ zeroinitializer, %vector.ph ], [ %55, %vector.body ]
  %vec.phi13 = phi <8 x i64> [ zeroinitializer, %vector.ph ], [ %56, %vector.body ]
  %vec.phi14 = phi <8 x i64> [ zeroinitializer, %vector.ph ], [ %57, %vector.body ]
  %29 = shl i64 %index, 3
  %scevgep101 = getelementptr i8, ptr %scevgep95, i64 %29
  %scevgep102 = getelementptr i8, ptr %scevgep101, i64 -192
  %scevgep100 = getelementptr i8, ptr %scevgep101, i64 -128
  %scevgep98 = getelementptr i8, ptr %scevgep101, i64 -64
  %wide.load = load <8 x i64>, ptr %scevgep102, align 1
  %wide.load15 = load <8 x i64>, ptr %scevgep100, align 1
  %wide.load16 = load <8 x i64>, ptr %scevgep98, align 1
  %wide.load17 = load <8 x i64>, ptr %scevgep101, align 1
  %scevgep108 = getelementptr i8, ptr %scevgep106, i64 %29
  %scevgep109 = getelementptr i8, ptr %scevgep108, i64 -192
  %scevgep110 = getelementptr i8, ptr %scevgep108, i64 -128
  %scevgep111 = getelementptr i8, ptr %scevgep108, i64 -64
  %wide.load18 = load <8 x i64>, ptr %scevgep109, align 8
  %wide.load19 = load <8 x i64>, ptr %scevgep110, align 8
  %wide.load20 = load <8 x i64>, ptr %scevgep111, align 8
  %wide.load21 = load <8 x i64>, ptr %scevgep108, align 8
  %30 = xor <8 x i64> %wide.load18, %wide.load
  %31 = xor <8 x i64> %wide.load19, %wide.load15
  %32 = xor <8 x i64> %wide.load20, %wide.load16
  %33 = xor <8 x i64> %wide.load21, %wide.load17
  %scevgep126 = getelementptr i8, ptr %scevgep124, i64 %29
  %scevgep127 = getelementptr i8, ptr %scevgep126, i64 -128
  %scevgep129 = getelementptr i8, ptr %scevgep126, i64 -64
  %scevgep128 = getelementptr i8, ptr %scevgep126, i64 64
  %wide.load22 = load <8 x i64>, ptr %scevgep127, align 8
  %wide.load23 = load <8 x i64>, ptr %scevgep129, align 8
  %wide.load24 = load <8 x i64>, ptr %scevgep126, align 8
  %wide.load25 = load <8 x i64>, ptr %scevgep128, align 8
  %34 = and <8 x i64> %wide.load22, %30
  %35 = and <8 x i64> %wide.load23, %31
  %36 = and <8 x i64> %wide.load24, %32
  %37 = and <8 x i64> %wide.load25, %33
  %scevgep116 = getelementptr i8, ptr %scevgep115, i64 %29
  %scevgep119 = getelementptr i8, ptr %scevgep116, i64 64
  %scevgep118 = getelementptr i8, ptr %scevgep116, i64 128
  %scevgep117 = getelementptr i8, ptr %scevgep116, i64 192
  %wide.load26 = load <8 x i64>, ptr %scevgep116, align 8
  %wide.load27 = load <8 x i64>, ptr %scevgep119, align 8
  %wide.load28 = load <8 x i64>, ptr %scevgep118, align 8
  %wide.load29 = load <8 x i64>, ptr %scevgep117, align 8
  %38 = add <8 x i64> %wide.load26, %30
  %39 = add <8 x i64> %wide.load27, %31
  %40 = add <8 x i64> %wide.load28, %32
  %41 = add <8 x i64> %wide.load29, %33
  %42 = and <8 x i64> %wide.load22, splat (i64 -1085102592571150096)
  %43 = and <8 x i64> %wide.load23, splat (i64 -1085102592571150096)
  %44 = and <8 x i64> %wide.load24, splat (i64 -1085102592571150096)
  %45 = and <8 x i64> %wide.load25, splat (i64 -1085102592571150096)
  %46 = and <8 x i64> %42, %38
  %47 = and <8 x i64> %43, %39
  %48 = and <8 x i64> %44, %40
  %49 = and <8 x i64> %45, %41
  %50 = or <8 x i64> %34, %vec.phi
  %51 = or <8 x i64> %35, %vec.phi12
  %52 = or <8 x i64> %36, %vec.phi13
  %53 = or <8 x i64> %37, %vec.phi14
  %54 = or <8 x i64> %50, %46
  %55 = or <8 x i64> %51, %47
  %56 = or <8 x i64> %52, %48
  %57 = or <8 x i64> %53, %49
  %index.next = add nuw nsw i64 %index, 32
  %58 = icmp eq i64 %n.vec, %index.next
  br i1 %58, label %middle.block, label %vector.body, !llvm.loop !8

middle.block:                                     ; preds = %vector.body
  %bin.rdx = or <8 x i64> %55, %54
  %bin.rdx30 = or <8 x i64> %bin.rdx, %56
  %bin.rdx31 = or <8 x i64> %bin.rdx30, %57
  %59 = tail call i64 @llvm.vector.reduce.or.v8i64(<8 x i64> %bin.rdx31)
  %cmp.n = icmp eq i64 %.420.us, %n.vec
  br i1 %cmp.n, label %B520.us, label %vec.epilog.iter.check

vec.epilog.iter.check:                            ; preds = %middle.block
  %60 = and i64 %.420.us, 28
  %min.epilog.iters.check = icmp eq i64 %60, 0
  br i1 %min.epilog.iters.check, label %B346.us.preheader, label %vec.epilog.ph, !prof !5

vec.epilog.ph:                                    ; preds = %vec.epilog.iter.check, %vector.main.loop.iter.check
  %vec.epilog.resume.val = phi i64 [ %n.vec, %vec.epilog.iter.check ], [ 0, %vector.main.loop.iter.check ]
  %bc.merge.rdx = phi i64 [ %59, %vec.epilog.iter.check ], [ 0, %vector.main.loop.iter.check ]
  %n.vec33 = and i64 %.420.us, 9223372036854775804
  %61 = insertelement <4 x i64> <i64 poison, i64 0, i64 0, i64 0>, i64 %bc.merge.rdx, i64 0
  %62 = mul i64 %.406.us, -64
  %scevgep130 = getelementptr i8, ptr %lsr.iv113, i64 %62
  %scevgep135 = getelementptr i8, ptr %lsr.iv133, i64 %62
  %scevgep140 = getelementptr i8, ptr %lsr.iv138, i64 %62
  br label %vec.epilog.vector.body

vec.epilog.vector.body:                           ; preds = %vec.epilog.vector.body, %vec.epilog.ph
  %index34 = phi i64 [ %vec.epilog.resume.val, %vec.epilog.ph ], [ %index.next40, %vec.epilog.vector.body ]
  %vec.phi35 = phi <4 x i64> [ %61, %vec.epilog.ph ], [ %70, %vec.epilog.vector.body ]
  %63 = shl i64 %index34, 3
  %scevgep142 = getelementptr i8, ptr %4, i64 %63
  %wide.load36 = load <4 x i64>, ptr %scevgep142, align 1
  %scevgep141 = getelementptr i8, ptr %scevgep140, i64 %63
  %wide.load37 = load <4 x i64>, ptr %scevgep141, align 8
  %64 = xor <4 x i64> %wide.load37, %wide.load36
  %scevgep136 = getelementptr i8, ptr %scevgep135, i64 %63
  %wide.load38 = load <4 x i64>, ptr %scevgep136, align 8
  %65 = and <4 x i64> %64, %wide.load38
  %scevgep131 = getelementptr i8, ptr %scevgep130, i64 %63
  %wide.load39 = load <4 x i64>, ptr %scevgep131, align 8
  %66 = add <4 x i64> %wide.load39, %64
  %67 = and <4 x i64> %wide.load38, splat (i64 -1085102592571150096)
  %68 = and <4 x i64> %67, %66
  %69 = or <4 x i64> %65, %vec.phi35
  %70 = or <4 x i64> %69, %68
  %index.next40 = add nuw i64 %index34, 4
  %71 = icmp eq i64 %n.vec33, %index.next40
  br i1 %71, label %vec.epilog.middle.block, label %vec.epilog.vector.body, !llvm.loop !9

vec.epilog.middle.block:                          ; preds = %vec.epilog.vector.body
  %72 = tail call i64 @llvm.vector.reduce.or.v4i64(<4 x i64> %70)
  %cmp.n41 = icmp eq i64 %.420.us, %n.vec33
  br i1 %cmp.n41, label %B520.us, label %B346.us.preheader

B346.us.preheader:                                ; preds = %vec.epilog.middle.block, %vec.epilog.iter.check, %iter.check
  %odd.3.2707.us.ph = phi i64 [ 0, %iter.check ], [ %59, %vec.epilog.iter.check ], [ %72, %vec.epilog.middle.block ]
  %.506703705.us.ph = phi i64 [ 0, %iter.check ], [ %n.vec, %vec.epilog.iter.check ], [ %n.vec33, %vec.epilog.middle.block ]
  %73 = add i64 %.506703705.us.ph, %lsr.iv143
  %74 = shl i64 %.406.us, 6
  %75 = shl i64 %73, 3
  %76 = sub i64 %75, %74
  %scevgep144 = getelementptr i8, ptr %arg.digit, i64 %76
  %scevgep148 = getelementptr i8, ptr %arg.fixed, i64 %76
  %scevgep150 = getelementptr i8, ptr %arg.template, i64 %76
  %77 = shl i64 %.506703705.us.ph, 3
  %scevgep153 = getelementptr i8, ptr %4, i64 %77
  %78 = sub nsw i64 %.420.us, %.506703705.us.ph
  br label %B346.us

B118:                                             ; preds = %B118.preheader, %B118
  %n_left.2.0770 = phi i64 [ %.1655, %B118 ], [ %n_left.2.0770.ph, %B118.preheader ]
  %.1655 = add nuw nsw i64 %n_left.2.0770, 1
  %79 = shl i64 %n_left.2.0770, 3
  %scevgep = getelementptr i8, ptr %arg.left, i64 %79
  store i64 %n_left.2.0770, ptr %scevgep, align 8
  %exitcond810.not = icmp eq i64 %arg.n, %.1655
  br i1 %exitcond810.not, label %B2622, label %B118, !llvm.loop !10

B2622:                                            ; preds = %B2618.us, %B118, %vec.epilog.middle.block68, %middle.block54, %B0.endif
  %n_left.2.0.lcssa = phi i64 [ 0, %B0.endif ], [ %arg.n, %B118 ], [ %arg.n, %vec.epilog.middle.block68 ], [ %arg.n, %middle.block54 ], [ %n_left.3.1.us, %B2618.us ]
  store i64 %n_left.2.0.lcssa, ptr %retptr, align 8
  ret void
}

; Function Attrs: mustprogress nocallback nofree nosync nounwind speculatable willreturn memory(none)
declare i64 @llvm.bswap.i64(i64) #1

; Function Attrs: mustprogress nocallback nofree nosync nounwind speculatable willreturn memory(none)
declare i32 @llvm.cttz.i32(i32, i1 immarg) #2

; Function Attrs: nofree norecurse nosync nounwind memory(argmem: readwrite)
define i64 @can_text(ptr readonly %.1, ptr readonly %.2, i64 %.3, i64 %.4, ptr readonly %.5, ptr readonly %.6, ptr readonly %.7, ptr readonly %.8, ptr readonly %.9, ptr readonly %.10, ptr readonly %.11, ptr readonly %.12, ptr readonly %.13, ptr readonly %.14, ptr readonly %.15, i64 %.16, ptr writeonly %.17, ptr writeonly %.18, ptr writeonly %.19, ptr writeonly %.20, ptr writeonly %.21, ptr writeonly %.22, ptr writeonly %.23, ptr writeonly %.24) local_unnamed_addr #0 {
entry:
  %.26 = alloca i64, align 8
  store i64 0, ptr %.26, align 8
  call fastcc void @inside_can_text(ptr nonnull %.26, ptr %.1, ptr %.2, i64 %.3, i64 %.4, ptr %.5, ptr %.6, ptr %.7, ptr %.8, ptr %.9, ptr %.10, ptr %.11, ptr %.12, ptr %.13, ptr %.14, ptr %.15, i64 %.16, ptr %.17, ptr %.18, ptr %.19, ptr %.20, ptr %.21, ptr %.22, ptr %.23, ptr %.24) #4
  %.40 = load i64, ptr %.26, align 8
  ret i64 %.40
}

; Function Attrs: nofree norecurse nosync nounwind memory(argmem: readwrite)
define internal fastcc void @inside_slots(ptr noalias nonnull writeonly %retptr, ptr readonly %arg.can_id, ptr readonly %arg.flags, i64 %arg.n, ptr %arg.table, i64 %arg.mask, i64 %arg.most, ptr writeonly %arg.keys, ptr %arg.counts, ptr writeonly %arg.slot) unnamed_addr #0 {
B0.endif:
  %.114117.not = icmp slt i64 %arg.n, 1
  br i1 %.114117.not, label %common.ret, label %B42

B42:                                              ; preds = %B0.endif, %B732
  %found.2.0120 = phi i64 [ %found.3.1, %B732 ], [ 0, %B0.endif ]
  %.120115118 = phi i64 [ %.127, %B732 ], [ 0, %B0.endif ]
  %.127 = add nuw nsw i64 %.120115118, 1
  %.157 = getelementptr i32, ptr %arg.can_id, i64 %.120115118
  %.158 = load i32, ptr %.157, align 4
  %.161 = getelementptr i8, ptr %arg.flags, i64 %.120115118
  %.162 = load i8, ptr %.161, align 1
  %0 = and i8 %.162, 1
  %1 = zext nneg i8 %0 to i64
  %.169 = shl nuw nsw i64 %1, 31
  %.170 = zext i32 %.158 to i64
  %.171 = or i64 %.169, %.170
  %.176 = mul i64 %.171, -7046029254386353131
  %.177 = lshr i64 %.176, 40
  %.179 = and i64 %.177, %arg.mask
  %.188 = shl nuw nsw i64 %.179, 1
  %2 = getelementptr i32, ptr %arg.table, i64 %.188
  %.191 = getelementptr i8, ptr %2, i64 4
  %.192 = load i32, ptr %.191, align 4
  %.194.not = icmp eq i32 %.192, 0
  br i1 %.194.not, label %B600, label %B370

B370:                                             ; preds = %B42
  %sunkaddr = shl nuw nsw i64 %.179, 3
  %sunkaddr15 = getelementptr i8, ptr %arg.table, i64 %sunkaddr
  %.209 = load i32, ptr %sunkaddr15, align 4
  %.211 = zext i32 %.209 to i64
  %.212.not = icmp eq i64 %.171, %.211
  br i1 %.212.not, label %B518.B732_crit_edge, label %B400

B400:                                             ; preds = %B370, %B488
  %at.2.2 = phi i64 [ %.222, %B488 ], [ %.179, %B370 ]
  %.218 = add nsw i64 %at.2.2, 1
  %.222 = and i64 %.218, %arg.mask
  %.230 = shl nsw i64 %.222, 1
  %3 = getelementptr i32, ptr %arg.table, i64 %.230
  %.233 = getelementptr i8, ptr %3, i64 4
  %.234 = load i32, ptr %.233, align 4
  %.236.not = icmp eq i32 %.234, 0
  br i1 %.236.not, label %B600, label %B488

B488:                                             ; preds = %B400
  %sunkaddr16 = shl i64 %.222, 3
  %sunkaddr17 = getelementptr i8, ptr %arg.table, i64 %sunkaddr16
  %.250 = load i32, ptr %sunkaddr17, align 4
  %.252 = zext i32 %.250 to i64
  %.253.not = icmp eq i64 %.171, %.252
  br i1 %.253.not, label %B518.B732_crit_edge, label %B400

B518.B732_crit_edge:                              ; preds = %B488, %B370
  %.275 = phi i32 [ %.192, %B370 ], [ %.234, %B488 ]
  %.276 = zext i32 %.275 to i64
  %.277 = add nsw i64 %.276, -1
  %.370.phi.trans.insert = getelementptr i64, ptr %arg.counts, i64 %.277
  %.371.pre = load i64, ptr %.370.phi.trans.insert, align 8
  %4 = add nsw i64 %.371.pre, 1
  br label %B732

B600:                                             ; preds = %B400, %B42
  %.271.pre-phi.ph = phi i64 [ %.188, %B42 ], [ %.230, %B400 ]
  %.289 = icmp eq i64 %found.2.0120, %arg.most
  br i1 %.289, label %common.ret, label %B618

common.ret:                                       ; preds = %B732, %B600, %B0.endif
  %storemerge112 = phi i64 [ 0, %B0.endif ], [ -1, %B600 ], [ %found.3.1, %B732 ]
  store i64 %storemerge112, ptr %retptr, align 8
  ret void

B618:                                             ; preds = %B600
  %5 = getelementptr i32, ptr %arg.table, i64 %.271.pre-phi.ph
  %.2744 = getelementptr i8, ptr %5, i64 4
  %.323 = trunc nuw i64 %.171 to i32
  store i32 %.323, ptr %5, align 4
  %.327 = add nsw i64 %found.2.0120, 1
  %.328 = trunc i64 %.327 to i32
  store i32 %.328, ptr %.2744, align 4
  %.341 = getelementptr i32, ptr %arg.keys, i64 %found.2.0120
  store i32 %.323, ptr %.341, align 4
  %.347 = getelementptr i64, ptr %arg.counts, i64 %found.2.0120
  store i64 0, ptr %.347, align 8
  br label %B732

B732:                                             ; preds = %B618, %B518.B732_crit_edge
  %.371 = phi i64 [ 1, %B618 ], [ %4, %B518.B732_crit_edge ]
  %found.3.1 = phi i64 [ %.327, %B618 ], [ %found.2.0120, %B518.B732_crit_edge ]
  %s.2.1 = phi i64 [ %found.2.0120, %B618 ], [ %.277, %B518.B732_crit_edge ]
  %.370 = getelementptr i64, ptr %arg.counts, i64 %s.2.1
  store i64 %.371, ptr %.370, align 8
  %.378 = trunc i64 %s.2.1 to i16
  %.383 = getelementptr i16, ptr %arg.slot, i64 %.120115118
  store i16 %.378, ptr %.383, align 2
  %exitcond.not = icmp eq i64 %arg.n, %.127
  br i1 %exitcond.not, label %common.ret, label %B42
}

; Function Attrs: nofree norecurse nosync nounwind memory(argmem: readwrite)
define i64 @slots(ptr readonly %.1, ptr readonly %.2, i64 %.3, ptr %.4, i64 %.5, i64 %.6, ptr writeonly %.7, ptr %.8, ptr writeonly %.9) local_unnamed_addr #0 {
entry:
  %.11 = alloca i64, align 8
  store i64 0, ptr %.11, align 8
  call fastcc void @inside_slots(ptr nonnull %.11, ptr %.1, ptr %.2, i64 %.3, ptr %.4, i64 %.5, i64 %.6, ptr %.7, ptr %.8, ptr %.9) #4
  %.25 = load i64, ptr %.11, align 8
  ret i64 %.25
}

; Function Attrs: nofree norecurse nosync nounwind memory(argmem: readwrite)
define internal fastcc void @inside_rows_by_slot(ptr noalias nonnull writeonly %retptr, ptr readonly %arg.slot, i64 %arg.n, ptr %arg.place, i64 %arg.slots, ptr writeonly %arg.rows) unnamed_addr #0 {
B0.endif:
  %.10179.not = icmp slt i64 %arg.n, 1
  br i1 %.10179.not, label %common.ret, label %B36

B36:                                              ; preds = %B0.endif, %B154
  %.1077780 = phi i64 [ %.114, %B154 ], [ 0, %B0.endif ]
  %.114 = add nuw nsw i64 %.1077780, 1
  %0 = shl nuw i64 %.1077780, 1
  %scevgep = getelementptr i8, ptr %arg.slot, i64 %0
  %.145 = load i16, ptr %scevgep, align 2
  %.146 = zext i16 %.145 to i64
  %.152.not = icmp sgt i64 %arg.slots, %.146
  br i1 %.152.not, label %B108, label %common.ret

common.ret:                                       ; preds = %B154, %B108, %B36, %B0.endif
  %arg.n.sink = phi i64 [ %arg.n, %B0.endif ], [ -1, %B36 ], [ -1, %B108 ], [ %arg.n, %B154 ]
  store i64 %arg.n.sink, ptr %retptr, align 8
  ret void

B108:                                             ; preds = %B36
  %.174 = getelementptr i64, ptr %arg.place, i64 %.146
  %.175 = load i64, ptr %.174, align 8
  %or.cond.not = icmp ult i64 %.175, %arg.n
  br i1 %or.cond.not, label %B154, label %common.ret

B154:                                             ; preds = %B108
  %.209 = getelementptr i64, ptr %arg.rows, i64 %.175
  store i64 %.1077780, ptr %.209, align 8
  %.214 = add nuw nsw i64 %.175, 1
  %sunkaddr = shl nuw nsw i64 %.146, 3
  %sunkaddr1 = getelementptr i8, ptr %arg.place, i64 %sunkaddr
  store i64 %.214, ptr %sunkaddr1, align 8
  %exitcond.not = icmp eq i64 %arg.n, %.114
  br i1 %exitcond.not, label %common.ret, label %B36
}

; Function Attrs: nofree norecurse nosync nounwind memory(argmem: readwrite)
define i64 @rows_by_slot(ptr readonly %.1, i64 %.2, ptr %.3, i64 %.4, ptr writeonly %.5) local_unnamed_addr #0 {
entry:
  %.7 = alloca i64, align 8
  store i64 0, ptr %.7, align 8
  call fastcc void @inside_rows_by_slot(ptr nonnull %.7, ptr %.1, i64 %.2, ptr %.3, i64 %.4, ptr %.5) #4
  %.21 = load i64, ptr %.7, align 8
  ret i64 %.21
}

; Function Attrs: nofree norecurse nosync nounwind memory(argmem: readwrite)
define internal fastcc void @inside_signals(ptr noalias nonnull writeonly %retptr, ptr readonly %arg.data, i64 %arg.n, i64 %arg.count, ptr readonly %arg.shift, ptr readonly %arg.length, ptr readonly %arg.big, ptr readonly %arg.signed, ptr readonly %arg.scale, ptr readonly %arg.offset, ptr writeonly %arg.out) unnamed_addr #0 {
B0:
  %.38 = icmp sgt i64 %arg.n, 0
  br i1 %.38, label %B22.preheader, label %B558

B22.preheader:                                    ; preds = %B0
  %.137138.not = icmp slt i64 %arg.count, 1
  br i1 %.137138.not, label %B22, label %B22.us.preheader

B22.us.preheader:                                 ; preds = %B22.preheader
  %0 = add nuw i64 %arg.count, 2305843009213693951
  %1 = shl i64 %arg.n, 3
  %2 = mul i64 %1, %0
  %scevgep15 = getelementptr i8, ptr %arg.out, i64 %2
  %3 = shl i64 %arg.count, 3
  %scevgep19 = getelementptr i8, ptr %arg.big, i64 %3
  %scevgep20 = getelementptr i8, ptr %arg.signed, i64 %3
  %scevgep133 = getelementptr i8, ptr %arg.out, i64 192
  %4 = shl i64 %arg.n, 3
  %scevgep143 = getelementptr i8, ptr %arg.data, i64 192
  %5 = and i64 %arg.n, 1152921504606846976
  %6 = icmp ne i64 %5, 0
  br label %B22.us

B22.us:                                           ; preds = %B78.B540_crit_edge.us, %B22.us.preheader
  %done.2.0.us = phi i64 [ %spec.select.us, %B78.B540_crit_edge.us ], [ 0, %B22.us.preheader ]
  %.44.us = add nsw i64 %done.2.0.us, 2048
  %spec.select.us = tail call i64 @llvm.smin.i64(i64 %.44.us, i64 %arg.n)
  %.251.us = sub i64 %spec.select.us, %done.2.0.us
  %..251.us = tail call i64 @llvm.smax.i64(i64 %.251.us, i64 0)
  %.294127.us.not = icmp slt i64 %.251.us, 1
  br i1 %.294127.us.not, label %B78.B540_crit_edge.us, label %B80.endif.us.us.preheader

B80.endif.us.us.preheader:                        ; preds = %B22.us
  %7 = shl i64 %done.2.0.us, 3
  %scevgep = getelementptr i8, ptr %arg.out, i64 %7
  %8 = add i64 %..251.us, %done.2.0.us
  %9 = shl i64 %8, 3
  %scevgep16 = getelementptr i8, ptr %scevgep15, i64 %9
  %scevgep17 = getelementptr i8, ptr %arg.data, i64 %7
  %scevgep18 = getelementptr i8, ptr %arg.data, i64 %9
  %bound064 = icmp ult ptr %scevgep, %scevgep18
  %bound165 = icmp ult ptr %scevgep17, %scevgep16
  %found.conflict66 = and i1 %bound064, %bound165
  %bound068 = icmp ult ptr %scevgep, %scevgep19
  %bound169 = icmp ult ptr %arg.big, %scevgep16
  %found.conflict70 = and i1 %bound068, %bound169
  %10 = or i1 %6, %found.conflict70
  %conflict.rdx72 = or i1 %found.conflict66, %10
  %bound073 = icmp ult ptr %scevgep, %scevgep20
  %bound174 = icmp ult ptr %arg.signed, %scevgep16
  %found.conflict75 = and i1 %bound073, %bound174
  %conflict.rdx77 = or i1 %found.conflict75, %conflict.rdx72
  %n.vec85 = and i64 %..251.us, 9223372036854775776
  %ind.end123 = and i64 %..251.us, 31
  %ind.end124 = add i64 %n.vec85, %done.2.0.us
  %n.vec107 = and i64 %..251.us, 9223372036854775804
  %11 = and i64 %..251.us, 3
  %12 = add i64 %n.vec107, %done.2.0.us
  %scevgep134 = getelementptr i8, ptr %scevgep133, i64 %7
  %scevgep144 = getelementptr i8, ptr %scevgep143, i64 %7
  %13 = icmp slt i64 %.251.us, 4
  %brmerge = select i1 %13, i1 true, i1 %conflict.rdx77
  %14 = icmp slt i64 %.251.us, 32
  %15 = icmp eq i64 %.251.us, %n.vec85
  %16 = and i64 %..251.us, 28
  %17 = icmp eq i64 %16, 0
  %18 = icmp eq i64 %.251.us, %n.vec107
  %19 = icmp slt i64 %.251.us, 4
  %brmerge129 = select i1 %19, i1 true, i1 %conflict.rdx77
  %20 = icmp slt i64 %.251.us, 32
  %21 = icmp eq i64 %.251.us, %n.vec85
  %22 = and i64 %..251.us, 28
  %23 = icmp eq i64 %22, 0
  %24 = icmp eq i64 %.251.us, %n.vec107
  br label %B80.endif.us.us

B78.B540_crit_edge.us:                            ; preds = %B246.B78.loopexit_crit_edge.us.us, %B22.us
  %.460.us = icmp slt i64 %.44.us, %arg.n
  br i1 %.460.us, label %B22.us, label %B558

B80.endif.us.us:                                  ; preds = %B246.B78.loopexit_crit_edge.us.us, %B80.endif.us.us.preheader
  %lsr.iv159 = phi ptr [ %arg.out, %B80.endif.us.us.preheader ], [ %scevgep160, %B246.B78.loopexit_crit_edge.us.us ]
  %lsr.iv153 = phi ptr [ %scevgep, %B80.endif.us.us.preheader ], [ %scevgep154, %B246.B78.loopexit_crit_edge.us.us ]
  %lsr.iv = phi ptr [ %scevgep134, %B80.endif.us.us.preheader ], [ %scevgep135, %B246.B78.loopexit_crit_edge.us.us ]
  %.143133139.us.us = phi i64 [ 0, %B80.endif.us.us.preheader ], [ %.150.us.us, %B246.B78.loopexit_crit_edge.us.us ]
  %.150.us.us = add nuw nsw i64 %.143133139.us.us, 1
  %.180.us.us = getelementptr i64, ptr %arg.length, i64 %.143133139.us.us
  %.181.us.us = load i64, ptr %.180.us.us, align 8
  %.182.us.us = sub nsw i64 64, %.181.us.us
  %.188.us.us = getelementptr i64, ptr %arg.shift, i64 %.143133139.us.us
  %.189.us.us = load i64, ptr %.188.us.us, align 8
  %.201.us.us = getelementptr double, ptr %arg.scale, i64 %.143133139.us.us
  %.202.us.us = load double, ptr %.201.us.us, align 8
  %.208.us.us = getelementptr double, ptr %arg.offset, i64 %.143133139.us.us
  %.209.us.us = load double, ptr %.208.us.us, align 8
  %.209.us.us.fr = freeze double %.209.us.us
  %.409.us.us = fcmp une double %.209.us.us.fr, 0.000000e+00
  br i1 %.409.us.us, label %iter.check, label %iter.check80

iter.check80:                                     ; preds = %B80.endif.us.us
  br i1 %brmerge, label %B248.us145.us.preheader, label %vector.main.loop.iter.check82

vector.main.loop.iter.check82:                    ; preds = %iter.check80
  br i1 %14, label %vec.epilog.ph105, label %vector.ph83

vector.ph83:                                      ; preds = %vector.main.loop.iter.check82
  %sunkaddr = shl i64 %.143133139.us.us, 3
  %sunkaddr192 = getelementptr i8, ptr %arg.signed, i64 %sunkaddr
  %25 = load i64, ptr %sunkaddr192, align 8, !alias.scope !11
  %sunkaddr194 = getelementptr i8, ptr %arg.big, i64 %sunkaddr
  %26 = load i64, ptr %sunkaddr194, align 8, !alias.scope !14
  %broadcast.splatinsert86 = insertelement <8 x i64> poison, i64 %.189.us.us, i64 0
  %broadcast.splat87 = shufflevector <8 x i64> %broadcast.splatinsert86, <8 x i64> poison, <8 x i32> zeroinitializer
  %broadcast.splatinsert88 = insertelement <8 x i64> poison, i64 %.182.us.us, i64 0
  %broadcast.splat89 = shufflevector <8 x i64> %broadcast.splatinsert88, <8 x i64> poison, <8 x i32> zeroinitializer
  %broadcast.splatinsert90 = insertelement <8 x double> poison, double %.202.us.us, i64 0
  %broadcast.splat91 = shufflevector <8 x double> %broadcast.splatinsert90, <8 x double> poison, <8 x i32> zeroinitializer
  %27 = icmp eq i64 %25, 0
  %28 = icmp eq i64 %26, 0
  br label %vector.body92

vector.body92:                                    ; preds = %vector.body92, %vector.ph83
  %index93 = phi i64 [ 0, %vector.ph83 ], [ %index.next98, %vector.body92 ]
  %29 = shl i64 %index93, 3
  %scevgep150 = getelementptr i8, ptr %scevgep144, i64 %29
  %scevgep151 = getelementptr i8, ptr %scevgep150, i64 -192
  %scevgep149 = getelementptr i8, ptr %scevgep150, i64 -128
  %scevgep147 = getelementptr i8, ptr %scevgep150, i64 -64
  %wide.load94 = load <8 x i64>, ptr %scevgep151, align 8, !alias.scope !16
  %wide.load95 = load <8 x i64>, ptr %scevgep149, align 8, !alias.scope !16
  %wide.load96 = load <8 x i64>, ptr %scevgep147, align 8, !alias.scope !16
  %wide.load97 = load <8 x i64>, ptr %scevgep150, align 8, !alias.scope !16
  %30 = tail call <8 x i64> @llvm.bswap.v8i64(<8 x i64> %wide.load94)
  %31 = tail call <8 x i64> @llvm.bswap.v8i64(<8 x i64> %wide.load95)
  %32 = tail call <8 x i64> @llvm.bswap.v8i64(<8 x i64> %wide.load96)
  %33 = tail call <8 x i64> @llvm.bswap.v8i64(<8 x i64> %wide.load97)
  %34 = select i1 %28, <8 x i64> %wide.load94, <8 x i64> %30
  %35 = select i1 %28, <8 x i64> %wide.load95, <8 x i64> %31
  %36 = select i1 %28, <8 x i64> %wide.load96, <8 x i64> %32
  %37 = select i1 %28, <8 x i64> %wide.load97, <8 x i64> %33
  %38 = lshr <8 x i64> %34, %broadcast.splat87
  %39 = lshr <8 x i64> %35, %broadcast.splat87
  %40 = lshr <8 x i64> %36, %broadcast.splat87
  %41 = lshr <8 x i64> %37, %broadcast.splat87
  %42 = shl <8 x i64> %38, %broadcast.splat89
  %43 = shl <8 x i64> %39, %broadcast.splat89
  %44 = shl <8 x i64> %40, %broadcast.splat89
  %45 = shl <8 x i64> %41, %broadcast.splat89
  %46 = ashr exact <8 x i64> %42, %broadcast.splat89
  %47 = ashr exact <8 x i64> %43, %broadcast.splat89
  %48 = ashr exact <8 x i64> %44, %broadcast.splat89
  %49 = ashr exact <8 x i64> %45, %broadcast.splat89
  %50 = sitofp <8 x i64> %46 to <8 x double>
  %51 = sitofp <8 x i64> %47 to <8 x double>
  %52 = sitofp <8 x i64> %48 to <8 x double>
  %53 = sitofp <8 x i64> %49 to <8 x double>
  %54 = lshr exact <8 x i64> %42, %broadcast.splat89
  %55 = lshr exact <8 x i64> %43, %broadcast.splat89
  %56 = lshr exact <8 x i64> %44, %broadcast.splat89
  %57 = lshr exact <8 x i64> %45, %broadcast.splat89
  %58 = uitofp <8 x i64> %54 to <8 x double>
  %59 = uitofp <8 x i64> %55 to <8 x double>
  %60 = uitofp <8 x i64> %56 to <8 x double>
  %61 = uitofp <8 x i64> %57 to <8 x double>
  %62 = select i1 %27, <8 x double> %58, <8 x double> %50
  %63 = select i1 %27, <8 x double> %59, <8 x double> %51
  %64 = select i1 %27, <8 x double> %60, <8 x double> %52
  %65 = select i1 %27, <8 x double> %61, <8 x double> %53
  %66 = fmul <8 x double> %broadcast.splat91, %62
  %67 = fmul <8 x double> %broadcast.splat91, %63
  %68 = fmul <8 x double> %broadcast.splat91, %64
  %69 = fmul <8 x double> %broadcast.splat91, %65
  %scevgep141 = getelementptr i8, ptr %lsr.iv, i64 %29
  %scevgep142 = getelementptr i8, ptr %scevgep141, i64 -192
  %scevgep140 = getelementptr i8, ptr %scevgep141, i64 -128
  %scevgep138 = getelementptr i8, ptr %scevgep141, i64 -64
  store <8 x double> %66, ptr %scevgep142, align 8, !alias.scope !18, !noalias !20
  store <8 x double> %67, ptr %scevgep140, align 8, !alias.scope !18, !noalias !20
  store <8 x double> %68, ptr %scevgep138, align 8, !alias.scope !18, !noalias !20
  store <8 x double> %69, ptr %scevgep141, align 8, !alias.scope !18, !noalias !20
  %index.next98 = add nuw i64 %index93, 32
  %70 = icmp eq i64 %n.vec85, %index.next98
  br i1 %70, label %middle.block99, label %vector.body92, !llvm.loop !21

middle.block99:                                   ; preds = %vector.body92
  br i1 %15, label %B246.B78.loopexit_crit_edge.us.us, label %vec.epilog.iter.check103

vec.epilog.iter.check103:                         ; preds = %middle.block99
  br i1 %17, label %B248.us145.us.preheader, label %vec.epilog.ph105, !prof !5

vec.epilog.ph105:                                 ; preds = %vec.epilog.iter.check103, %vector.main.loop.iter.check82
  %vec.epilog.resume.val101 = phi i64 [ %n.vec85, %vec.epilog.iter.check103 ], [ 0, %vector.main.loop.iter.check82 ]
  %sunkaddr195 = shl i64 %.143133139.us.us, 3
  %sunkaddr196 = getelementptr i8, ptr %arg.signed, i64 %sunkaddr195
  %71 = load i64, ptr %sunkaddr196, align 8, !alias.scope !11
  %sunkaddr198 = getelementptr i8, ptr %arg.big, i64 %sunkaddr195
  %72 = load i64, ptr %sunkaddr198, align 8, !alias.scope !14
  %broadcast.splatinsert108 = insertelement <4 x i64> poison, i64 %.189.us.us, i64 0
  %broadcast.splat109 = shufflevector <4 x i64> %broadcast.splatinsert108, <4 x i64> poison, <4 x i32> zeroinitializer
  %broadcast.splatinsert110 = insertelement <4 x i64> poison, i64 %.182.us.us, i64 0
  %broadcast.splat111 = shufflevector <4 x i64> %broadcast.splatinsert110, <4 x i64> poison, <4 x i32> zeroinitializer
  %broadcast.splatinsert112 = insertelement <4 x double> poison, double %.202.us.us, i64 0
  %broadcast.splat113 = shufflevector <4 x double> %broadcast.splatinsert112, <4 x double> poison, <4 x i32> zeroinitializer
  %73 = icmp eq i64 %71, 0
  %74 = icmp eq i64 %72, 0
  br label %vec.epilog.vector.body114

vec.epilog.vector.body114:                        ; preds = %vec.epilog.vector.body114, %vec.epilog.ph105
  %index115 = phi i64 [ %vec.epilog.resume.val101, %vec.epilog.ph105 ], [ %index.next118, %vec.epilog.vector.body114 ]
  %75 = shl i64 %index115, 3
  %scevgep157 = getelementptr i8, ptr %scevgep17, i64 %75
  %wide.load117 = load <4 x i64>, ptr %scevgep157, align 8, !alias.scope !16
  %76 = tail call <4 x i64> @llvm.bswap.v4i64(<4 x i64> %wide.load117)
  %77 = select i1 %74, <4 x i64> %wide.load117, <4 x i64> %76
  %78 = lshr <4 x i64> %77, %broadcast.splat109
  %79 = shl <4 x i64> %78, %broadcast.splat111
  %80 = ashr exact <4 x i64> %79, %broadcast.splat111
  %81 = sitofp <4 x i64> %80 to <4 x double>
  %82 = lshr exact <4 x i64> %79, %broadcast.splat111
  %83 = uitofp <4 x i64> %82 to <4 x double>
  %84 = select i1 %73, <4 x double> %83, <4 x double> %81
  %85 = fmul <4 x double> %broadcast.splat113, %84
  %scevgep155 = getelementptr i8, ptr %lsr.iv153, i64 %75
  store <4 x double> %85, ptr %scevgep155, align 8, !alias.scope !18, !noalias !20
  %index.next118 = add nuw i64 %index115, 4
  %86 = icmp eq i64 %n.vec107, %index.next118
  br i1 %86, label %vec.epilog.middle.block119, label %vec.epilog.vector.body114, !llvm.loop !22

vec.epilog.middle.block119:                       ; preds = %vec.epilog.vector.body114
  br i1 %18, label %B246.B78.loopexit_crit_edge.us.us, label %B248.us145.us.preheader

B248.us145.us.preheader:                          ; preds = %vec.epilog.middle.block119, %vec.epilog.iter.check103, %iter.check80
  %.293125129.us146.us.ph = phi i64 [ %..251.us, %iter.check80 ], [ %11, %vec.epilog.middle.block119 ], [ %ind.end123, %vec.epilog.iter.check103 ]
  %.300126128.us147.us.ph = phi i64 [ %done.2.0.us, %iter.check80 ], [ %12, %vec.epilog.middle.block119 ], [ %ind.end124, %vec.epilog.iter.check103 ]
  %87 = add nuw i64 %.293125129.us146.us.ph, 1
  %88 = shl i64 %.300126128.us147.us.ph, 3
  %sunkaddr207 = shl i64 %.143133139.us.us, 3
  %sunkaddr208 = getelementptr i8, ptr %arg.big, i64 %sunkaddr207
  %sunkaddr210 = getelementptr i8, ptr %arg.signed, i64 %sunkaddr207
  br label %B248.us145.us

iter.check:                                       ; preds = %B80.endif.us.us
  br i1 %brmerge129, label %B248.us.us.us.preheader, label %vector.main.loop.iter.check

vector.main.loop.iter.check:                      ; preds = %iter.check
  br i1 %20, label %vec.epilog.ph, label %vector.ph

vector.ph:                                        ; preds = %vector.main.loop.iter.check
  %sunkaddr199 = shl i64 %.143133139.us.us, 3
  %sunkaddr200 = getelementptr i8, ptr %arg.signed, i64 %sunkaddr199
  %89 = load i64, ptr %sunkaddr200, align 8, !alias.scope !23
  %sunkaddr202 = getelementptr i8, ptr %arg.big, i64 %sunkaddr199
  %90 = load i64, ptr %sunkaddr202, align 8, !alias.scope !26
  %broadcast.splatinsert = insertelement <8 x i64> poison, i64 %.189.us.us, i64 0
  %broadcast.splat = shufflevector <8 x i64> %broadcast.splatinsert, <8 x i64> poison, <8 x i32> zeroinitializer
  %broadcast.splatinsert31 = insertelement <8 x i64> poison, i64 %.182.us.us, i64 0
  %broadcast.splat32 = shufflevector <8 x i64> %broadcast.splatinsert31, <8 x i64> poison, <8 x i32> zeroinitializer
  %broadcast.splatinsert33 = insertelement <8 x double> poison, double %.202.us.us, i64 0
  %broadcast.splat34 = shufflevector <8 x double> %broadcast.splatinsert33, <8 x double> poison, <8 x i32> zeroinitializer
  %broadcast.splatinsert35 = insertelement <8 x double> poison, double %.209.us.us.fr, i64 0
  %broadcast.splat36 = shufflevector <8 x double> %broadcast.splatinsert35, <8 x double> poison, <8 x i32> zeroinitializer
  %91 = icmp eq i64 %89, 0
  %92 = icmp eq i64 %90, 0
  br label %vector.body

vector.body:                                      ; preds = %vector.body, %vector.ph
  %index = phi i64 [ 0, %vector.ph ], [ %index.next, %vector.body ]
  %93 = shl i64 %index, 3
  %scevgep179 = getelementptr i8, ptr %scevgep144, i64 %93
  %scevgep180 = getelementptr i8, ptr %scevgep179, i64 -192
  %scevgep178 = getelementptr i8, ptr %scevgep179, i64 -128
  %scevgep176 = getelementptr i8, ptr %scevgep179, i64 -64
  %wide.load = load <8 x i64>, ptr %scevgep180, align 8, !alias.scope !28
  %wide.load37 = load <8 x i64>, ptr %scevgep178, align 8, !alias.scope !28
  %wide.load38 = load <8 x i64>, ptr %scevgep176, align 8, !alias.scope !28
  %wide.load39 = load <8 x i64>, ptr %scevgep179, align 8, !alias.scope !28
  %94 = tail call <8 x i64> @llvm.bswap.v8i64(<8 x i64> %wide.load)
  %95 = tail call <8 x i64> @llvm.bswap.v8i64(<8 x i64> %wide.load37)
  %96 = tail call <8 x i64> @llvm.bswap.v8i64(<8 x i64> %wide.load38)
  %97 = tail call <8 x i64> @llvm.bswap.v8i64(<8 x i64> %wide.load39)
  %98 = select i1 %92, <8 x i64> %wide.load, <8 x i64> %94
  %99 = select i1 %92, <8 x i64> %wide.load37, <8 x i64> %95
  %100 = select i1 %92, <8 x i64> %wide.load38, <8 x i64> %96
  %101 = select i1 %92, <8 x i64> %wide.load39, <8 x i64> %97
  %102 = lshr <8 x i64> %98, %broadcast.splat
  %103 = lshr <8 x i64> %99, %broadcast.splat
  %104 = lshr <8 x i64> %100, %broadcast.splat
  %105 = lshr <8 x i64> %101, %broadcast.splat
  %106 = shl <8 x i64> %102, %broadcast.splat32
  %107 = shl <8 x i64> %103, %broadcast.splat32
  %108 = shl <8 x i64> %104, %broadcast.splat32
  %109 = shl <8 x i64> %105, %broadcast.splat32
  %110 = ashr exact <8 x i64> %106, %broadcast.splat32
  %111 = ashr exact <8 x i64> %107, %broadcast.splat32
  %112 = ashr exact <8 x i64> %108, %broadcast.splat32
  %113 = ashr exact <8 x i64> %109, %broadcast.splat32
  %114 = sitofp <8 x i64> %110 to <8 x double>
  %115 = sitofp <8 x i64> %111 to <8 x double>
  %116 = sitofp <8 x i64> %112 to <8 x double>
  %117 = sitofp <8 x i64> %113 to <8 x double>
  %118 = lshr exact <8 x i64> %106, %broadcast.splat32
  %119 = lshr exact <8 x i64> %107, %broadcast.splat32
  %120 = lshr exact <8 x i64> %108, %broadcast.splat32
  %121 = lshr exact <8 x i64> %109, %broadcast.splat32
  %122 = uitofp <8 x i64> %118 to <8 x double>
  %123 = uitofp <8 x i64> %119 to <8 x double>
  %124 = uitofp <8 x i64> %120 to <8 x double>
  %125 = uitofp <8 x i64> %121 to <8 x double>
  %126 = select i1 %91, <8 x double> %122, <8 x double> %114
  %127 = select i1 %91, <8 x double> %123, <8 x double> %115
  %128 = select i1 %91, <8 x double> %124, <8 x double> %116
  %129 = select i1 %91, <8 x double> %125, <8 x double> %117
  %130 = fmul <8 x double> %broadcast.splat34, %126
  %131 = fmul <8 x double> %broadcast.splat34, %127
  %132 = fmul <8 x double> %broadcast.splat34, %128
  %133 = fmul <8 x double> %broadcast.splat34, %129
  %134 = fadd <8 x double> %broadcast.splat36, %130
  %135 = fadd <8 x double> %broadcast.splat36, %131
  %136 = fadd <8 x double> %broadcast.splat36, %132
  %137 = fadd <8 x double> %broadcast.splat36, %133
  %scevgep170 = getelementptr i8, ptr %lsr.iv, i64 %93
  %scevgep171 = getelementptr i8, ptr %scevgep170, i64 -192
  %scevgep169 = getelementptr i8, ptr %scevgep170, i64 -128
  %scevgep167 = getelementptr i8, ptr %scevgep170, i64 -64
  store <8 x double> %134, ptr %scevgep171, align 8, !alias.scope !30, !noalias !32
  store <8 x double> %135, ptr %scevgep169, align 8, !alias.scope !30, !noalias !32
  store <8 x double> %136, ptr %scevgep167, align 8, !alias.scope !30, !noalias !32
  store <8 x double> %137, ptr %scevgep170, align 8, !alias.scope !30, !noalias !32
  %index.next = add nuw i64 %index, 32
  %138 = icmp eq i64 %n.vec85, %index.next
  br i1 %138, label %middle.block, label %vector.body, !llvm.loop !33

middle.block:                                     ; preds = %vector.body
  br i1 %21, label %B246.B78.loopexit_crit_edge.us.us, label %vec.epilog.iter.check

vec.epilog.iter.check:                            ; preds = %middle.block
  br i1 %23, label %B248.us.us.us.preheader, label %vec.epilog.ph, !prof !5

vec.epilog.ph:                                    ; preds = %vec.epilog.iter.check, %vector.main.loop.iter.check
  %vec.epilog.resume.val = phi i64 [ %n.vec85, %vec.epilog.iter.check ], [ 0, %vector.main.loop.iter.check ]
  %sunkaddr203 = shl i64 %.143133139.us.us, 3
  %sunkaddr204 = getelementptr i8, ptr %arg.signed, i64 %sunkaddr203
  %139 = load i64, ptr %sunkaddr204, align 8, !alias.scope !23
  %sunkaddr206 = getelementptr i8, ptr %arg.big, i64 %sunkaddr203
  %140 = load i64, ptr %sunkaddr206, align 8, !alias.scope !26
  %broadcast.splatinsert42 = insertelement <4 x i64> poison, i64 %.189.us.us, i64 0
  %broadcast.splat43 = shufflevector <4 x i64> %broadcast.splatinsert42, <4 x i64> poison, <4 x i32> zeroinitializer
  %broadcast.splatinsert44 = insertelement <4 x i64> poison, i64 %.182.us.us, i64 0
  %broadcast.splat45 = shufflevector <4 x i64> %broadcast.splatinsert44, <4 x i64> poison, <4 x i32> zeroinitializer
  %broadcast.splatinsert46 = insertelement <4 x double> poison, double %.202.us.us, i64 0
  %broadcast.splat47 = shufflevector <4 x double> %broadcast.splatinsert46, <4 x double> poison, <4 x i32> zeroinitializer
  %broadcast.splatinsert48 = insertelement <4 x double> poison, double %.209.us.us.fr, i64 0
  %broadcast.splat49 = shufflevector <4 x double> %broadcast.splatinsert48, <4 x double> poison, <4 x i32> zeroinitializer
  %141 = icmp eq i64 %139, 0
  %142 = icmp eq i64 %140, 0
  br label %vec.epilog.vector.body

vec.epilog.vector.body:                           ; preds = %vec.epilog.vector.body, %vec.epilog.ph
  %index50 = phi i64 [ %vec.epilog.resume.val, %vec.epilog.ph ], [ %index.next52, %vec.epilog.vector.body ]
  %143 = shl i64 %index50, 3
  %scevgep182 = getelementptr i8, ptr %scevgep17, i64 %143
  %wide.load51 = load <4 x i64>, ptr %scevgep182, align 8, !alias.scope !28
  %144 = tail call <4 x i64> @llvm.bswap.v4i64(<4 x i64> %wide.load51)
  %145 = select i1 %142, <4 x i64> %wide.load51, <4 x i64> %144
  %146 = lshr <4 x i64> %145, %broadcast.splat43
  %147 = shl <4 x i64> %146, %broadcast.splat45
  %148 = ashr exact <4 x i64> %147, %broadcast.splat45
  %149 = sitofp <4 x i64> %148 to <4 x double>
  %150 = lshr exact <4 x i64> %147, %broadcast.splat45
  %151 = uitofp <4 x i64> %150 to <4 x double>
  %152 = select i1 %141, <4 x double> %151, <4 x double> %149
  %153 = fmul <4 x double> %broadcast.splat47, %152
  %154 = fadd <4 x double> %broadcast.splat49, %153
  %scevgep181 = getelementptr i8, ptr %lsr.iv153, i64 %143
  store <4 x double> %154, ptr %scevgep181, align 8, !alias.scope !30, !noalias !32
  %index.next52 = add nuw i64 %index50, 4
  %155 = icmp eq i64 %n.vec107, %index.next52
  br i1 %155, label %vec.epilog.middle.block, label %vec.epilog.vector.body, !llvm.loop !34

vec.epilog.middle.block:                          ; preds = %vec.epilog.vector.body
  br i1 %24, label %B246.B78.loopexit_crit_edge.us.us, label %B248.us.us.us.preheader

B248.us.us.us.preheader:                          ; preds = %vec.epilog.middle.block, %vec.epilog.iter.check, %iter.check
  %.293125129.us.us.us.ph = phi i64 [ %..251.us, %iter.check ], [ %11, %vec.epilog.middle.block ], [ %ind.end123, %vec.epilog.iter.check ]
  %.300126128.us.us.us.ph = phi i64 [ %done.2.0.us, %iter.check ], [ %12, %vec.epilog.middle.block ], [ %ind.end124, %vec.epilog.iter.check ]
  %156 = add nuw i64 %.293125129.us.us.us.ph, 1
  %157 = shl i64 %.300126128.us.us.us.ph, 3
  %sunkaddr211 = shl i64 %.143133139.us.us, 3
  %sunkaddr212 = getelementptr i8, ptr %arg.big, i64 %sunkaddr211
  %sunkaddr214 = getelementptr i8, ptr %arg.signed, i64 %sunkaddr211
  br label %B248.us.us.us

B248.us145.us:                                    ; preds = %B248.us145.us, %B248.us145.us.preheader
  %lsr.iv161 = phi i64 [ %88, %B248.us145.us.preheader ], [ %lsr.iv.next162, %B248.us145.us ]
  %lsr.iv158 = phi i64 [ %87, %B248.us145.us.preheader ], [ %lsr.iv.next, %B248.us145.us ]
  %scevgep164 = getelementptr i8, ptr %arg.data, i64 %lsr.iv161
  %.338.us151.us = load i64, ptr %scevgep164, align 8
  %.349.us152.us = load i64, ptr %sunkaddr208, align 8
  %.350.not.us153.us = icmp eq i64 %.349.us152.us, 0
  %.353.us154.us = tail call i64 @llvm.bswap.i64(i64 %.338.us151.us)
  %spec.select123.us155.us = select i1 %.350.not.us153.us, i64 %.338.us151.us, i64 %.353.us154.us
  %.363.us156.us = lshr i64 %spec.select123.us155.us, %.189.us.us
  %.367.us157.us = shl i64 %.363.us156.us, %.182.us.us
  %.374.us158.us = load i64, ptr %sunkaddr210, align 8
  %.375.not.us159.us = icmp eq i64 %.374.us158.us, 0
  %.381.us160.us = ashr exact i64 %.367.us157.us, %.182.us.us
  %.382.us161.us = sitofp i64 %.381.us160.us to double
  %.389.us162.us = lshr exact i64 %.367.us157.us, %.182.us.us
  %.392.us163.us = uitofp i64 %.389.us162.us to double
  %"$phi486.2.2.3.us164.us" = select i1 %.375.not.us159.us, double %.392.us163.us, double %.382.us161.us
  %.400.us165.us = fmul double %.202.us.us, %"$phi486.2.2.3.us164.us"
  %scevgep163 = getelementptr i8, ptr %lsr.iv159, i64 %lsr.iv161
  store double %.400.us165.us, ptr %scevgep163, align 8
  %lsr.iv.next = add i64 %lsr.iv158, -1
  %lsr.iv.next162 = add i64 %lsr.iv161, 8
  %.294.us167.us = icmp sgt i64 %lsr.iv.next, 1
  br i1 %.294.us167.us, label %B248.us145.us, label %B246.B78.loopexit_crit_edge.us.us, !llvm.loop !35

B246.B78.loopexit_crit_edge.us.us:                ; preds = %B248.us145.us, %B248.us.us.us, %vec.epilog.middle.block, %middle.block, %vec.epilog.middle.block119, %middle.block99
  %scevgep135 = getelementptr i8, ptr %lsr.iv, i64 %4
  %scevgep154 = getelementptr i8, ptr %lsr.iv153, i64 %4
  %scevgep160 = getelementptr i8, ptr %lsr.iv159, i64 %4
  %exitcond.not = icmp eq i64 %arg.count, %.150.us.us
  br i1 %exitcond.not, label %B78.B540_crit_edge.us, label %B80.endif.us.us

B248.us.us.us:                                    ; preds = %B248.us.us.us, %B248.us.us.us.preheader
  %lsr.iv185 = phi i64 [ %157, %B248.us.us.us.preheader ], [ %lsr.iv.next186, %B248.us.us.us ]
  %lsr.iv183 = phi i64 [ %156, %B248.us.us.us.preheader ], [ %lsr.iv.next184, %B248.us.us.us ]
  %scevgep188 = getelementptr i8, ptr %arg.data, i64 %lsr.iv185
  %.338.us.us.us = load i64, ptr %scevgep188, align 8
  %.349.us.us.us = load i64, ptr %sunkaddr212, align 8
  %.350.not.us.us.us = icmp eq i64 %.349.us.us.us, 0
  %.353.us.us.us = tail call i64 @llvm.bswap.i64(i64 %.338.us.us.us)
  %spec.select123.us.us.us = select i1 %.350.not.us.us.us, i64 %.338.us.us.us, i64 %.353.us.us.us
  %.363.us.us.us = lshr i64 %spec.select123.us.us.us, %.189.us.us
  %.367.us.us.us = shl i64 %.363.us.us.us, %.182.us.us
  %.374.us.us.us = load i64, ptr %sunkaddr214, align 8
  %.375.not.us.us.us = icmp eq i64 %.374.us.us.us, 0
  %.381.us.us.us = ashr exact i64 %.367.us.us.us, %.182.us.us
  %.382.us.us.us = sitofp i64 %.381.us.us.us to double
  %.389.us.us.us = lshr exact i64 %.367.us.us.us, %.182.us.us
  %.392.us.us.us = uitofp i64 %.389.us.us.us to double
  %"$phi486.2.2.3.us.us.us" = select i1 %.375.not.us.us.us, double %.392.us.us.us, double %.382.us.us.us
  %.400.us.us.us = fmul double %.202.us.us, %"$phi486.2.2.3.us.us.us"
  %.413.us.us.us = fadd double %.209.us.us.fr, %.400.us.us.us
  %scevgep187 = getelementptr i8, ptr %lsr.iv159, i64 %lsr.iv185
  store double %.413.us.us.us, ptr %scevgep187, align 8
  %lsr.iv.next184 = add i64 %lsr.iv183, -1
  %lsr.iv.next186 = add i64 %lsr.iv185, 8
  %.294.us.us.us = icmp sgt i64 %lsr.iv.next184, 1
  br i1 %.294.us.us.us, label %B248.us.us.us, label %B246.B78.loopexit_crit_edge.us.us, !llvm.loop !36

B22:                                              ; preds = %B22.preheader, %B22
  %done.2.0 = phi i64 [ %spec.select, %B22 ], [ 0, %B22.preheader ]
  %.44 = add nsw i64 %done.2.0, 2048
  %spec.select = tail call i64 @llvm.smin.i64(i64 %.44, i64 %arg.n)
  %.460 = icmp slt i64 %.44, %arg.n
  br i1 %.460, label %B22, label %B558

B558:                                             ; preds = %B78.B540_crit_edge.us, %B22, %B0
  store i64 %arg.count, ptr %retptr, align 8
  ret void
}

; Function Attrs: mustprogress nocallback nofree nosync nounwind speculatable willreturn memory(none)
declare i64 @llvm.smin.i64(i64, i64) #1

; Function Attrs: mustprogress nocallback nofree nosync nounwind speculatable willreturn memory(none)
declare i64 @llvm.smax.i64(i64, i64) #1

; Function Attrs: mustprogress nocallback nofree nosync nounwind speculatable willreturn memory(none)
declare <8 x i64> @llvm.bswap.v8i64(<8 x i64>) #1

; Function Attrs: mustprogress nocallback nofree nosync nounwind speculatable willreturn memory(none)
declare <4 x i64> @llvm.bswap.v4i64(<4 x i64>) #1

; Function Attrs: nofree norecurse nosync nounwind memory(argmem: readwrite)
define i64 @signals(ptr readonly %.1, i64 %.2, i64 %.3, ptr readonly %.4, ptr readonly %.5, ptr readonly %.6, ptr readonly %.7, ptr readonly %.8, ptr readonly %.9, ptr writeonly %.10) local_unnamed_addr #0 {
entry:
  %.12 = alloca i64, align 8
  store i64 0, ptr %.12, align 8
  call fastcc void @inside_signals(ptr nonnull %.12, ptr %.1, i64 %.2, i64 %.3, ptr %.4, ptr %.5, ptr %.6, ptr %.7, ptr %.8, ptr %.9, ptr %.10) #4
  %.26 = load i64, ptr %.12, align 8
  ret i64 %.26
}

; Function Attrs: nocallback nofree nosync nounwind speculatable willreturn memory(none)
declare i64 @llvm.vector.reduce.or.v8i64(<8 x i64>) #3

; Function Attrs: nocallback nofree nosync nounwind speculatable willreturn memory(none)
declare i64 @llvm.vector.reduce.or.v4i64(<4 x i64>) #3

attributes #0 = { nofree norecurse nosync nounwind memory(argmem: readwrite) }
attributes #1 = { mustprogress nocallback nofree nosync nounwind speculatable willreturn memory(none) }
attributes #2 = { mustprogress nocallback nofree nosync nounwind speculatable willreturn memory(none) }
attributes #3 = { nocallback nofree nosync nounwind speculatable willreturn memory(none) }
attributes #4 = { noinline }

!0 = distinct !{!0, !1}
!1 = !{!"llvm.loop.unroll.disable"}
!2 = distinct !{!2, !3, !4}
!3 = !{!"llvm.loop.isvectorized", i32 1}
!4 = !{!"llvm.loop.unroll.runtime.disable"}
!5 = !{!"branch_weights", i32 4, i32 28}
!6 = distinct !{!6, !3, !4}
!7 = distinct !{!7, !4, !3}
!8 = distinct !{!8, !3, !4}
!9 = distinct !{!9, !3, !4}
!10 = distinct !{!10, !4, !3}
!11 = !{!12}
!12 = distinct !{!12, !13}
!13 = distinct !{!13, !"LVerDomain"}
!14 = !{!15}
!15 = distinct !{!15, !13}
!16 = !{!17}
!17 = distinct !{!17, !13}
!18 = !{!19}
!19 = distinct !{!19, !13}
!20 = !{!17, !15, !12}
!21 = distinct !{!21, !3, !4}
!22 = distinct !{!22, !3, !4}
!23 = !{!24}
!24 = distinct !{!24, !25}
!25 = distinct !{!25, !"LVerDomain"}
!26 = !{!27}
!27 = distinct !{!27, !25}
!28 = !{!29}
!29 = distinct !{!29, !25}
!30 = !{!31}
!31 = distinct !{!31, !25}
!32 = !{!29, !27, !24}
!33 = distinct !{!33, !3, !4}
!34 = distinct !{!34, !3, !4}
!35 = distinct !{!35, !3}
!36 = distinct !{!36, !3}
